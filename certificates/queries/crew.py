"""Who of a contractor's crew met which program, and which record shows it until when."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from assessments.models import Decision
from certificates.models import Record
from certificates.queries.standing import CURRENT, LAPSES_SOON, Standing, standing_of, with_standing
from training.models import Employment, Enrolment, Person, Program
from training.queries.scope import employments_of_crew

# Words of a row beside those of a record's standing and those of a decision.
AWAITS_RECORD = "awaits_record"
NO_RESULT = "no_result"
NOTHING = "nothing"


@dataclass(frozen=True)
class Qualification:
    """One program of one person: the decided result, and the record that serves longest."""

    program: Program
    result: str | None
    record: Record | None
    standing: Standing | None

    @property
    def word(self) -> str:
        """The record's standing; else awaits_record, not_yet_met, incomplete or no_result."""
        if self.standing:
            return self.standing.word
        if self.result == Decision.Result.MET:
            return AWAITS_RECORD
        return self.result or NO_RESULT


@dataclass(frozen=True)
class CrewMember:
    """A person who is employed today, and what that person has to show."""

    person: Person
    employer: str
    since: date
    qualifications: Sequence[Qualification]


@dataclass
class _Found:
    program: Program
    enrolled: bool = False
    results: set[str] = field(default_factory=set)
    records: list[tuple[Record, Standing]] = field(default_factory=list)


def crew_of(manager: Person) -> list[CrewMember]:
    """Return the people whom the organisations of ``manager`` employ today, by name.

    Six queries, however many people and programs there are. Only decided results are in it:
    whether an attempt is open is no business of an employer.
    """
    employments = _employments(manager)
    people = {employment.person_id for employment in employments}
    found: dict[tuple[int, object], _Found] = {}
    for enrolment in Enrolment.objects.filter(person__in=people).select_related("run__program"):
        program = enrolment.run.program
        entry = found.setdefault((enrolment.person_id, program.pk), _Found(program))
        entry.enrolled |= enrolment.state == Enrolment.State.ENROLLED
    for person, program_id, result in _results(people):
        found[person, program_id].results.add(result)
    for record in _records(people):
        program_id = record.decision.attempt.enrolment.run.program_id
        found[record.holder_id, program_id].records.append((record, standing_of(record)))
    return [
        CrewMember(
            employment.person,
            employment.organisation.name,
            employment.since,
            _qualifications(found, employment.person_id),
        )
        for employment in employments
    ]


def narrowed(crew: Iterable[CrewMember], *, program: str, word: str) -> list[CrewMember]:
    """Return the members who have a row of this program code and this word; "" is any.

    The word ``nothing`` finds those who have no row (of the program, if one is given).
    """
    kept = []
    for member in crew:
        rows = [row for row in member.qualifications if program in ("", row.program.code)]
        if word == NOTHING:
            if not rows:
                kept.append(replace(member, qualifications=[]))
            continue
        rows = [row for row in rows if word in ("", row.word)]
        if rows or not (program or word):
            kept.append(replace(member, qualifications=rows))
    return kept


def program_choices(crew: Iterable[CrewMember]) -> list[tuple[str, str]]:
    """Return (code, title) of every program in the crew's rows; the latest version's title."""
    programs = sorted(
        (row.program for member in crew for row in member.qualifications),
        key=lambda program: program.version,
    )
    return sorted({program.code: program.title for program in programs}.items())


def counts(crew: Sequence[CrewMember]) -> dict[str, int]:
    """Return how many ``people`` there are, how many have ``nothing``, and rows by word.

    ``holding`` counts the rows whose record holds today.
    """
    words = Counter(row.word for member in crew for row in member.qualifications)
    empty = sum(not member.qualifications for member in crew)
    holding = words[CURRENT] + words[LAPSES_SOON]
    return {**words, "people": len(crew), "holding": holding, NOTHING: empty}


def _employments(manager: Person) -> list[Employment]:
    return list(
        employments_of_crew(manager)
        .select_related("person", "organisation")
        .order_by("person__full_name", "person_id", "-since")
        .distinct("person__full_name", "person_id")
    )


def _results(people: set[int]) -> Iterable[tuple[int, object, str]]:
    return Decision.objects.filter(
        attempt__enrolment__person__in=people, replaced_by__isnull=True
    ).values_list("attempt__enrolment__person", "attempt__enrolment__run__program", "result")


def _records(people: set[int]) -> Iterable[Record]:
    records = Record.objects.filter(holder__in=people, replaced_by__isnull=True)
    return with_standing(records).order_by("issued_at")


def _qualifications(found: dict[tuple[int, object], _Found], person: int) -> list[Qualification]:
    entries = [
        entry
        for (holder, _), entry in found.items()
        # Whoever withdrew before anything was decided has nothing to show.
        if holder == person and (entry.enrolled or entry.results or entry.records)
    ]
    entries.sort(key=lambda entry: (entry.program.code, -entry.program.version))
    return [_qualification(entry) for entry in entries]


def _qualification(entry: _Found) -> Qualification:
    # Met once stays met, whatever a later attempt came to.
    order = (Decision.Result.MET, Decision.Result.NOT_YET_MET, Decision.Result.INCOMPLETE)
    result = next((value for value in order if value in entry.results), None)
    record, standing = max(entry.records, key=_serves, default=(None, None))
    return Qualification(entry.program, result, record, standing)


def _serves(pair: tuple[Record, Standing]) -> tuple[bool, date, object]:
    record, standing = pair
    return standing.counts, record.valid_until or date.max, record.issued_at
