"""What the database refuses about crews, whatever the code above it does."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, connection, models, transaction
from django.utils import timezone

from certificates.models import (
    CalendarFeed,
    Confirmation,
    DayPlace,
    LinkOpening,
    Post,
    Project,
    Record,
    Reminder,
    Retraction,
    ShareLink,
    Submittal,
    SubmittedRecord,
)
from tests.assessments.builders import make_yard
from tests.certificates.builders import met_decision, record_row
from tests.factories import make_organisation, make_role
from training.models import Organisation, Person, Role

D = "d" * 64
CREW: tuple[type[models.Model], ...] = (
    CalendarFeed, Confirmation, DayPlace, LinkOpening, Post, Project, Reminder, Retraction,
    ShareLink, Submittal, SubmittedRecord,
)  # fmt: skip


@dataclass
class Crew:
    """A record, and a project with one post, one submittal and one link."""

    record: Record
    manager: Person
    project: Project
    post: Post
    submittal: Submittal
    link: ShareLink


def project_of(firm: Organisation, manager: Person, **fields: object) -> Project:
    """Save a project of that firm."""
    values: dict[str, object] = {
        "contractor": firm,
        "name": "North face",
        "time_zone": "America/New_York",
        "starts_on": date(2026, 12, 1),
        "ends_on": date(2026, 12, 31),
        "created_by": manager,
    }
    return Project.objects.create(**{**values, **fields})


def post_of(project: Project, record: Record, **fields: object) -> Post:
    """Save a post that asks for the program of ``record``."""
    values: dict[str, object] = {
        "project": project,
        "position": 1,
        "code": "A",
        "title": "Sill stones",
        "program": record.decision.attempt.enrolment.run.program,
        "places": 3,
        "starts_on": project.starts_on,
        "ends_on": project.ends_on,
    }
    return Post.objects.create(**{**values, **fields})


def submittal_of(project: Project, manager: Person, **fields: object) -> Submittal:
    """Save a submittal without a file."""
    values: dict[str, object] = {
        "project": project,
        "number": 1,
        "document": {},
        "digest": D,
        "pdf": "submittals/a.pdf",
        "pdf_sha256": D,
        "certificate_sha256": D,
        "submitted_by": manager,
    }
    return Submittal.objects.create(**{**values, **fields})


def link_of(project: Project, manager: Person, **fields: object) -> ShareLink:
    """Save a link that expires tomorrow."""
    values: dict[str, object] = {
        "project": project,
        "token_sha256": D,
        "recipient": "Clerk of works",
        "created_by": manager,
        "expires_at": timezone.now() + timedelta(days=1),
    }
    return ShareLink.objects.create(**{**values, **fields})


@pytest.fixture
def crew(db: None) -> Crew:
    """Return one of everything."""
    record = record_row(met_decision(make_yard()))
    firm = make_organisation(Organisation.Kind.CONTRACTOR)
    manager = make_role(Role.Kind.CONTRACTOR, firm)
    project = project_of(firm, manager)
    return Crew(
        record=record,
        manager=manager,
        project=project,
        post=post_of(project, record),
        submittal=submittal_of(project, manager),
        link=link_of(project, manager),
    )


def confirmation(crew: Crew, **fields: object) -> Confirmation:
    """Save a confirmation of today's work."""
    today = timezone.localdate()
    values: dict[str, object] = {
        "attempt": crew.record.decision.attempt,
        "record": crew.record,
        "organisation": crew.project.contractor,
        "project_name": "North face",
        "worked_on": today,
        "signed_on": today,
        "signed_by": crew.manager,
    }
    return Confirmation.objects.create(**{**values, **fields})


def place(crew: Crew, **fields: object) -> DayPlace:
    """Save a place of the record's holder on the first day."""
    values: dict[str, object] = {
        "project": crew.project,
        "post": crew.post,
        "day": crew.project.starts_on,
        "person": crew.record.holder,
        "placed_by": crew.manager,
    }
    return DayPlace.objects.create(**{**values, **fields})


def reminder(crew: Crew, **fields: object) -> Reminder:
    """Save a reminder of a lapse."""
    values: dict[str, object] = {
        "record": crew.record,
        "person": crew.manager,
        "kind": "lapse",
        "due_on": date(2027, 1, 1),
        "days_ahead": 30,
    }
    return Reminder.objects.create(**{**values, **fields})


def feed(crew: Crew, **fields: object) -> CalendarFeed:
    """Save a calendar feed of the manager."""
    values: dict[str, object] = {
        "organisation": crew.project.contractor,
        "person": crew.manager,
        "token_sha256": D,
    }
    return CalendarFeed.objects.create(**{**values, **fields})


def other_attempt(crew: Crew) -> Confirmation:
    """Save a confirmation that names the record of another attempt."""
    other = record_row(met_decision(make_yard()), serial=1)
    return confirmation(crew, attempt=other.decision.attempt)


NOW = timezone.now
LONG_AGO = timedelta(days=40)
BREAK: dict[str, Callable[[Crew], object]] = {
    "project_name_once_a_contractor": lambda c: project_of(
        c.project.contractor, c.manager, name="NORTH FACE"
    ),
    "project_name_given": lambda c: project_of(c.project.contractor, c.manager, name=""),
    "project_ends_after_start": lambda c: project_of(
        c.project.contractor, c.manager, name="B", ends_on=date(2026, 11, 30)
    ),
    "post_code_once_a_project": lambda c: post_of(c.project, c.record, code="a"),
    "post_code_given": lambda c: post_of(c.project, c.record, code=""),
    "post_title_given": lambda c: post_of(c.project, c.record, code="B", title=""),
    "post_places_known": lambda c: post_of(c.project, c.record, code="B", places=501),
    "post_ends_after_start": lambda c: post_of(
        c.project, c.record, code="B", ends_on=date(2026, 11, 30)
    ),
    "post_lead_whole": lambda c: post_of(c.project, c.record, code="B", masons_per_lead=4),
    "confirmation_work_done": lambda c: confirmation(c, worked_on=NOW().date() + timedelta(days=1)),
    "confirmation_project_named": lambda c: confirmation(c, project_name=""),
    "confirmation_of_the_attempt": other_attempt,
    "confirmation_not_backdated": lambda c: confirmation(
        c,
        signed_at=NOW() - LONG_AGO,
        signed_on=(NOW() - LONG_AGO).date(),
        worked_on=(NOW() - LONG_AGO).date(),
    ),
    "retraction_reason_given": lambda c: Retraction.objects.create(
        confirmation=confirmation(c), reason="wrong", by=c.manager
    ),
    "submittal_number_once": lambda c: submittal_of(c.project, c.manager, pdf_sha256="e" * 64),
    "submittal_number_from_one": lambda c: submittal_of(
        c.project, c.manager, number=0, pdf_sha256="e" * 64
    ),
    "submittal_digest_form": lambda c: submittal_of(
        c.project, c.manager, number=2, pdf_sha256="e" * 64, digest="D" * 64
    ),
    "submittal_pdf_digest_form": lambda c: submittal_of(
        c.project, c.manager, number=2, pdf_sha256="e"
    ),
    "submittal_certificate_digest_form": lambda c: submittal_of(
        c.project, c.manager, number=2, pdf_sha256="e" * 64, certificate_sha256=""
    ),
    "submitted_record_once": lambda c: [
        SubmittedRecord.objects.create(submittal=c.submittal, record=c.record) for _ in range(2)
    ],
    "link_token_form": lambda c: link_of(c.project, c.manager, token_sha256="secret"),
    "link_recipient_given": lambda c: link_of(
        c.project, c.manager, token_sha256="e" * 64, recipient=""
    ),
    "link_expires_later": lambda c: link_of(
        c.project, c.manager, token_sha256="e" * 64, expires_at=NOW() - LONG_AGO
    ),
    "link_revoked_by_somebody": lambda c: ShareLink.objects.update(revoked_at=NOW()),
    "link_only_revoked": lambda c: ShareLink.objects.update(expires_at=NOW() + LONG_AGO),
    "opening_what_known": lambda c: LinkOpening.objects.create(link=c.link, what="all"),
    "day_place_once_a_day": lambda c: (place(c), place(c)),
    "day_token_given": lambda c: place(c, token=""),
    "day_place_at_a_post_of_the_day": lambda c: place(c, day=date(2027, 1, 1)),
    "feed_token_form": lambda c: feed(c, token_sha256="secret"),
    "feed_current_once": lambda c: (feed(c), feed(c, token_sha256="e" * 64)),
    "reminder_kind_known": lambda c: reminder(c, kind="birthday"),
    "reminder_once": lambda c: (reminder(c), reminder(c)),
}
BY_TRIGGER = {
    "confirmation_of_the_attempt", "confirmation_not_backdated", "link_only_revoked",
    "day_place_at_a_post_of_the_day",
}  # fmt: skip


@pytest.mark.parametrize("name", BREAK)
def test_each_named_constraint_fires(crew: Crew, name: str) -> None:
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        BREAK[name](crew)
    diagnostics = getattr(caught.value.__cause__, "diag", None)
    assert diagnostics is not None
    assert diagnostics.constraint_name == name


def test_no_constraint_is_left_out() -> None:
    named = {constraint.name for model in CREW for constraint in model._meta.constraints}
    assert named == set(BREAK) - BY_TRIGGER


def test_what_is_right_is_taken(crew: Crew) -> None:
    """The makers above break nothing by themselves."""
    for made in (confirmation(crew), place(crew), reminder(crew), feed(crew)):
        assert made.pk
    revoked = ShareLink.objects.filter(pk=crew.link.pk).update(
        revoked_at=NOW(), revoked_by=crew.manager
    )
    assert revoked == 1


def test_a_revoked_link_stays_revoked(crew: Crew) -> None:
    ShareLink.objects.update(revoked_at=NOW(), revoked_by=crew.manager)
    with pytest.raises(IntegrityError, match="revoked once"), transaction.atomic():
        ShareLink.objects.update(revoked_at=None, revoked_by=None)
    with pytest.raises(IntegrityError, match="revoked once"), transaction.atomic():
        ShareLink.objects.all().delete()


@pytest.mark.parametrize(
    "table", ["confirmation", "retraction", "submittal", "submittedrecord", "linkopening"]
)
@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_what_was_signed_or_seen_never_changes(crew: Crew, table: str, statement: str) -> None:
    Retraction.objects.create(
        confirmation=confirmation(crew), reason="The wrong mason was ticked.", by=crew.manager
    )
    SubmittedRecord.objects.create(submittal=crew.submittal, record=crew.record)
    LinkOpening.objects.create(link=crew.link, what="page")
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            cursor.execute(statement.format(f"certificates_{table}"))


@pytest.mark.parametrize(("places", "per_lead", "leads"), [(3, None, 0), (8, 4, 2), (9, 4, 3)])
def test_a_lead_for_so_many(crew: Crew, places: int, per_lead: int | None, leads: int) -> None:
    crew.post.places, crew.post.masons_per_lead = places, per_lead
    assert crew.post.leads == leads
