"""A page of nearly every address, for the roles that open it, with cheap rows; all invented."""

from typing import Any

from django.urls import NoReverseMatch, reverse
from django.utils import timezone

from assessments.models import Attempt
from tests.assessments.builders import Yard, make_standard
from tests.assessments.calibration.builders import make_piece
from tests.assessments.panel.builders import Room, make_room
from tests.assessments.progress.builders import practice_yard
from tests.certificates.builders import decide_attempt, record_row
from tests.certificates.crew.days.builders import Tower, tower
from tests.factories import enrol, make_person
from tests.languages.second_look import Shown
from tests.roles_course import OF_ENROLMENT, OF_NOTE, OF_PERSON, OF_PROGRAM, OF_RUN, OF_SESSION
from tests.roles_table import ROLES, TABLE
from tests.training.presence.builders import HOUR, make_session
from tests.training.sitelog.builders import batch, new_photo, note
from training.models import Person

OF_YARD_RUN = (
    "run", "run_enrol", "run_enrol_file", "run_instructor", "run_devices", "run_records",
    "run_progress",
)  # fmt: skip
OF_YARD_PROGRAM = (
    "program", "standard", "task_sheet_draft", "program_coverage", "assessors", "reference_new",
    "program_evidence", "panel_new",
)  # fmt: skip
OF_STANDARD = ("sealed_standard", "task_sheet", "evidence")
OF_PANEL = ("panel", "panel_change", "panel_invite", "panel_recommendation", "panel_abandon")
OF_RECORD = (
    "record", "record_suspend", "record_withdraw", "record_correct", "check_record",
)  # fmt: skip
OF_PROJECT = (
    "project", "project_edit", "project_copy", "post_new", "posts_file", "project_coverage",
    "submittals", "owner_view", "day_list",
)  # fmt: skip
# A device keeps them without a connection, for whoever uses it: they hold every language.
OF_DEVICES = ("site", "presence_site")
# Files and what scripts ask for, and a page that leads on where there is nothing to copy.
NO_PAGE = (
    "_pdf", "_csv", "_xlsx", "_zip", "_json", "_worker", "_roster", "session_sheet", "healthz",
    "site_", "photo", "quick_cards", "program_copy", "checker",
)  # fmt: skip
# What an instructor sees of it differs from what a lead does; of the rest the lead's is enough.
OF_BOTH = ("home", "run", "run_list", "attempt", "program", "run_calendar", "session_presence")


def everyday_pages() -> list[Shown]:
    """Return the pages of the table of roles that need no more than these rows, in its order."""
    yard, works = practice_yard(), tower()
    room = make_room()
    objects = {**_of_course(yard), **_of_assessing(yard, room), **_of_crew(works)}
    people = {
        "lead": yard.lead, "instructor": yard.instructor, "trainee": yard.trainee,
        "contractor": works.manager, "owner": works.owner,
    }  # fmt: skip
    pages = []
    for name, (method, statuses) in TABLE.items():
        if method != "get" or name in OF_DEVICES or any(part in name for part in NO_PAGE):
            continue
        try:
            path = reverse(name, kwargs=objects.get(name, {}))
        except NoReverseMatch:
            continue
        for role, status in zip(ROLES, statuses, strict=True):
            person = _who(name, people.get(role), room)
            if status == 200 and person is not None and _differs(name, role, statuses):
                pages.append(Shown(f"{name}, {role}", person, path))
    return pages


def _differs(name: str, role: str, statuses: tuple[int, ...]) -> bool:
    """Tell whether the role sees something that none before it in the table saw."""
    allowed = dict(zip(ROLES, statuses, strict=True))
    if name in OF_RECORD:  # of somebody whom nobody here employs
        return role == "lead"
    if role == "instructor":
        return name in OF_BOTH or allowed["lead"] != 200
    return role != "owner" or allowed["contractor"] != 200


def _who(name: str, person: Person | None, room: Room) -> Person | None:
    """The panel's provider is one of its own."""
    return room.lead if person is not None and name in OF_PANEL else person


def _of_course(yard: Yard) -> dict[str, dict[str, Any]]:
    now = timezone.now()
    session = make_session(yard.run, starts_at=now, ends_at=now + 2 * HOUR)
    entry = note(yard.instructor, yard.run, photos=(new_photo(),))
    batch(yard.instructor, yard.run)
    return {
        **{name: {"pk": yard.run.pk} for name in (*OF_RUN, *OF_YARD_RUN)},
        **{name: {"pk": yard.program.pk} for name in (*OF_PROGRAM, *OF_YARD_PROGRAM)},
        **{name: {"pk": yard.enrolment.pk} for name in (*OF_ENROLMENT, "enrolment_paper")},
        **{name: {"pk": yard.trainee.pk} for name in (*OF_PERSON, "person")},
        **{name: {"pk": session.pk} for name in OF_SESSION},
        **{name: {"pk": entry.pk} for name in OF_NOTE},
        **{name: {"pk": yard.run.site_id} for name in ("place_list", "place_new")},
        "assessor": {"pk": yard.program.pk, "person": yard.instructor.pk},
    }


def _of_assessing(yard: Yard, room: Room) -> dict[str, dict[str, Any]]:
    other = enrol(yard.run, make_person())
    attempt = Attempt.objects.create(
        enrolment=other, standard=yard.standard, number=1, started_by=yard.instructor
    )
    record = record_row(decide_attempt(attempt, yard.instructor))
    open_one = yard.attempt()
    return {
        **{name: {"pk": yard.standard.pk} for name in OF_STANDARD},
        **{name: {"pk": room.panel.pk} for name in OF_PANEL},
        **{name: {"number": record.number} for name in OF_RECORD},
        "attempt": {"pk": open_one.pk},
        "reference": {"pk": make_piece(yard).pk},
        "issuer_keys": {"pk": yard.provider.pk},
        "guide_put_away": {"key": "run"},
    }


def _of_crew(works: Tower) -> dict[str, dict[str, Any]]:
    make_standard(works.program)
    return {
        **{name: {"pk": works.project.pk} for name in OF_PROJECT},
        "post_edit": {"pk": works.a.pk},
        "day_place": {"pk": works.project.pk, "post": works.a.pk},
        "mason": {"pk": works.able.pk},
    }
