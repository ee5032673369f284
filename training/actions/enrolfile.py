"""Enrolling a whole list: all of it or nothing, unless the reader asks for the good rows."""

from dataclasses import dataclass

from django.db import IntegrityError, transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.actions.enrolments import (
    invite_to_coming,
    lock_open_run,
    other_employer,
    teaches,
)
from training.actions.identify import other_name
from training.actions.log import write_log
from training.actions.permission import require_lead
from training.enrolfile import Fault, Row, Table, read_table, to_text
from training.errors import Refused
from training.models import CourseRun, Employment, Enrolment, Organisation, Person
from training.names import same_name
from training.queries.known import Known, known_about
from training.queries.waiting import places_of

WAITING = Enrolment.State.WAITING


@dataclass(frozen=True)
class FileResult:
    """How many got a place, the rows left over as a list of their own to correct, and how many
    are on the waiting list."""

    enrolled: int
    rest: str
    faults: tuple[Fault, ...]
    waiting: int = 0


class FileRefused(Refused):
    """The list has ``faults`` and nothing of it was enrolled.

    ``good`` counts the rows that could be enrolled alone; 0 when the list cannot be read whole.
    """

    def __init__(self, faults: tuple[Fault, ...], good: int) -> None:
        number = len(faults)
        super().__init__(
            ngettext(
                "Nobody is enrolled yet: {count} place needs correcting.",
                "Nobody is enrolled yet: {count} places need correcting.",
                number,
            ).format(count=number),
            field="text",
        )
        self.faults = faults
        self.good = good


def enrol_file(*, actor: Person, run: CourseRun, text: str, good_only: bool = False) -> FileResult:
    """Enrol the trainees of a CSV list on ``run``; see enrolfile/rows.py for its form.

    With ``good_only`` the faulty rows are left out and handed back, else one fault stops all.
    Raises PermissionDenied for anyone but a lead, Refused for a closed run, FileRefused with
    every fault at once.
    """
    try:
        with transaction.atomic():
            return _enrol(actor, run, text, good_only)
    except IntegrityError:
        raise Refused(
            _("Somebody else made one of these people known just now. Send the list again."),
            field="text",
        ) from None


def _enrol(actor: Person, run: CourseRun, text: str, good_only: bool) -> FileResult:
    require_lead(actor, run.program.provider)
    run = lock_open_run(run)
    table = read_table(text)
    known = known_about(run, [row.email for row in table.rows])
    good, faults = _sort(table, known)
    if faults and not (good_only and good and table.whole):
        raise FileRefused(faults, len(good) if table.whole else 0)
    enrolments = _write(run, good, known)
    placed = [each.person for each in enrolments if each.state != WAITING]
    invite_to_coming(run, placed)
    write_log(
        actor=actor,
        verb="enrolment.made_from_list",
        subject=run,
        data={
            "enrolments": [
                {
                    "enrolment": str(enrolment.pk),
                    "person": enrolment.person_id,
                    "employer": enrolment.employer_id,
                    **({"waiting": True} if enrolment.state == WAITING else {}),
                }
                for enrolment in enrolments
            ]
        },
    )
    faulty = sorted({fault.row for fault in faults})
    rest = to_text(table.typed[number] for number in faulty) if faulty else ""
    waiting = len(enrolments) - len(placed)
    return FileResult(len(placed), rest, _renumbered(faults, faulty), waiting)


def _sort(table: Table, known: Known) -> tuple[list[Row], tuple[Fault, ...]]:
    """Return the rows that can be enrolled, and all faults in the order of the file."""
    faults = list(table.faults)
    good = []
    for row in table.rows:
        found = _faults(row, known)
        faults.extend(found)
        if not found:
            good.append(row)
    return good, tuple(sorted(faults, key=lambda fault: fault.row))


def _faults(row: Row, known: Known) -> list[Fault]:
    found = []
    person = known.people.get(row.email)
    if person:
        if not same_name(person.full_name, row.full_name):
            found.append(Fault(row.number, "full_name", other_name(person)))
        if person.pk in known.teachers:
            found.append(Fault(row.number, "email", teaches(person)))
        enrolment = known.enrolments.get(person.pk)
        if enrolment and enrolment.state == Enrolment.State.ENROLLED:
            found.append(
                Fault(row.number, "email", _("Enrolled on this run already: delete this row."))
            )
        elif enrolment and enrolment.state == WAITING:
            text = _("On the waiting list of this run already: delete this row.")
            found.append(Fault(row.number, "email", text))
    if row.employer:
        found.extend(_employer_faults(row, person, known))
    return found


def _employer_faults(row: Row, person: Person | None, known: Known) -> list[Fault]:
    employer = known.contractor(row.employer)
    if employer is None:
        nearest = known.nearest(row.employer)
        said = [_("No contractor is named “{employer}”.").format(employer=row.employer[:80])]
        if nearest:
            said.append(_("Did you mean “{nearest}”?").format(nearest=nearest))
        said.append(
            _(
                "Write a known contractor's name, add it under People first, or leave the cell "
                "empty."
            )
        )
        return [Fault(row.number, "employer", " ".join(said))]
    current = known.employers.get(person.pk) if person else None
    if person and current and current.organisation_id != employer.pk:
        return [Fault(row.number, "employer", other_employer(person, current.organisation))]
    return []


def _write(run: CourseRun, rows: list[Row], known: Known) -> list[Enrolment]:
    people = dict(known.people)
    new = []
    for row in rows:
        if row.email not in people:
            person = Person(email=row.email, full_name=row.full_name)
            person.set_unusable_password()
            new.append(person)
    people.update((person.email, person) for person in Person.objects.bulk_create(new))
    places = [(people[row.email], _employer(row, known)) for row in rows]
    today = timezone.localdate()
    Employment.objects.bulk_create(
        Employment(person=person, organisation=employer, since=today)
        for person, employer in places
        if employer and person.pk not in known.employers
    )
    return _places(run, places, known)


def _places(
    run: CourseRun, places: list[tuple[Person, Organisation | None]], known: Known
) -> list[Enrolment]:
    back, fresh = [], []
    free = places_of(run).free
    for number, (person, employer) in enumerate(places):
        full = free is not None and number >= free
        state = WAITING if full else Enrolment.State.ENROLLED
        enrolment = known.enrolments.get(person.pk)
        if enrolment:
            enrolment.state = state  # the run is locked: nobody is faster
            enrolment.person = person
            enrolment.employer = employer
            enrolment.enrolled_at = timezone.now()
            back.append(enrolment)
        else:
            fresh.append(
                Enrolment(
                    run=run,
                    person=person,
                    employer=employer,
                    state=state,
                    enrolled_at=timezone.now(),
                )
            )
    Enrolment.objects.bulk_update(back, ["state", "employer", "enrolled_at"])
    return back + Enrolment.objects.bulk_create(fresh)


def _employer(row: Row, known: Known) -> Organisation | None:
    return known.contractor(row.employer) if row.employer else None


def _renumbered(faults: tuple[Fault, ...], faulty: list[int]) -> tuple[Fault, ...]:
    """Return the faults with the row numbers of the list that holds the faulty rows only."""
    place = {number: position for position, number in enumerate(faulty, 2)}
    return tuple(Fault(place[fault.row], fault.column, fault.message) for fault in faults)
