"""Makers of panels with judges and decided pieces for the tests; all invented."""

from dataclasses import dataclass

from assessments.actions.attempts import start_attempt
from assessments.actions.decisions import sign_off
from assessments.actions.panel.judgements import make_judgement
from assessments.actions.panel.judges import invite_judge, take_seat
from assessments.actions.panel.preparing import open_panel
from assessments.actions.panel.rounds import close_round, open_round
from assessments.actions.programs import load_program
from assessments.models import Attempt, Judge, Judgement, JudgingRound, Panel
from tests.assessments.builders import make_standard, score_all
from tests.assessments.programfile.sources import SMALL
from tests.factories import enrol, make_organisation, make_person, make_role, make_run
from training.models import CourseRun, Organisation, Person, Program, Role

CRITERIA = ("arris", "width", "clean", "voids", "covered")
JUST_MEETS = "Cuts to the line alone; needs a second look at the arris."


@dataclass(frozen=True)
class Room:
    """A provider with a lead, a loaded program, and a panel in preparation."""

    provider: Organisation
    lead: Person
    program: Program
    panel: Panel

    def seat(self, number: int = 1) -> list[Judge]:
        """Seat so many new judges."""
        return [seat(self.lead, self.panel) for _ in range(number)]


def make_program_of(lead: Person, provider: Organisation, source: str = SMALL) -> Program:
    """Return the loaded program."""
    return load_program(actor=lead, provider=provider, source=source, filename="sill.yaml")


def make_room(method: str = "angoff", pieces: int = 0, *, sense_check: bool = False) -> Room:
    """Return a room whose panel judges by ``method``; with ``pieces`` from an earlier run."""
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    program = make_program_of(lead, provider)
    runs = [make_pieces(lead, provider, pieces)] if pieces else []
    panel = open_panel(
        actor=lead,
        program=program,
        method=method,
        statistic="mean",
        just_meets=JUST_MEETS,
        sense_check=sense_check,
        sources=runs,
    )
    return Room(provider, lead, program, panel)


def make_pieces(lead: Person, provider: Organisation, number: int) -> CourseRun:
    """Return a run of an earlier version with so many decided attempts."""
    earlier = Program.objects.create(
        provider=provider, code="SILL", version=90, title="Sill repair", unit="in"
    )
    make_standard(earlier)
    instructor = make_role(Role.Kind.INSTRUCTOR, provider, "Wilhelmina Osterberg")
    run = make_run(earlier, instructors=(instructor,))
    for place in range(number):
        attempt = start_attempt(
            actor=instructor, enrolment=enrol(run, make_person(f"Trainee Number{place}"))
        )
        score_all(attempt, instructor, C1={"level": 1 + place % 2})
        sign_off(actor=instructor, attempt=attempt, password_checked=True)
    return run


def seat(lead: Person, panel: Panel, person: Person | None = None) -> Judge:
    """Invite a person and have the seat taken."""
    person = person or make_person()
    judge = invite_judge(actor=lead, panel=panel, full_name=person.full_name, email=person.email)
    return take_seat(
        actor=person, judge=judge, qualifications="Mason for 20 years", interests="none"
    )


def enter(judge: Judge, round: JudgingRound, key: str, value: object) -> Judgement:
    """Enter a value as the judge; a text is a share, the kind follows from the key."""
    whole = {"share": value} if isinstance(value, str) else value
    assert isinstance(whole, dict)
    kind = (
        "limits"
        if key == "limits"
        else "criterion"
        if key in CRITERIA
        else "cell"
        if "-" in key and len(key) < 36
        else "attempt"
    )
    return make_judgement(
        actor=judge.person, round=round, subject_kind=kind, subject_key=key, value=whole
    )


def enter_all(judge: Judge, round: JudgingRound, share: str = "0.6") -> None:
    """Enter the same share for every criterion."""
    for key in CRITERIA:
        enter(judge, round, key, share)


def closed_training(room: Room) -> JudgingRound:
    """Open the training round and close it with its gaps."""
    opened = open_round(actor=room.lead, panel=room.panel)
    room.panel.refresh_from_db()
    return close_round(actor=room.lead, round=opened, accept_gaps=True)


def piece_keys(room: Room) -> list[str]:
    """Return the ids of the pieces, in the order in which they are judged."""
    ids = Attempt.objects.filter(enrolment__run__panels=room.panel).order_by("pk")
    return [str(pk) for pk in ids.values_list("pk", flat=True)]
