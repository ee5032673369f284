"""What the database refuses about sessions, papers, the site log and evaluation."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any, TypeVar

import pytest
from django.db import IntegrityError, connection, models, transaction

from tests.training.yard import Yard
from training.models import (
    Attendance,
    Complaint,
    Consent,
    Curing,
    DocumentTakenBack,
    Erasure,
    GuideRead,
    HeldDocument,
    LogNote,
    LogPhoto,
    Material,
    MortarBatch,
    PersonFeed,
    Place,
    ProgramChange,
    ProgramPrerequisite,
    Question,
    Reaction,
    ReactionGiven,
    Session,
    SessionInstructor,
    SignInCode,
)

D = "d" * 64
NOON = datetime(2026, 11, 3, 17, tzinfo=UTC)
HOUR = timedelta(hours=1)
Row = TypeVar("Row", bound=models.Model)


def made(model: type[Row], values: dict[str, Any], fields: dict[str, Any]) -> Row:
    """Save and return a row."""
    return model._default_manager.create(**{**values, **fields})


def place(yard: Yard, **fields: Any) -> Place:
    """Save a bay of the run's site."""
    return made(Place, {"site": yard.run.site, "kind": "bay", "name": "Bay 3"}, fields)


def session(yard: Yard, **fields: Any) -> Session:
    """Save a session from noon to one."""
    values = {"run": yard.run, "title": "Pins", "starts_at": NOON, "ends_at": NOON + HOUR}
    return made(Session, values, fields)


def teaches(yard: Yard, taught: Session, **fields: Any) -> SessionInstructor:
    """Save who teaches a session; the trigger puts the times in."""
    values = {"session": taught, "person": yard.teacher, "starts_at": NOON, "ends_at": NOON}
    return made(SessionInstructor, values, fields)


def code(yard: Yard, **fields: Any) -> SignInCode:
    """Save a code of a session."""
    values = {
        "session": session(yard), "token": "t", "made_by": yard.teacher, "made_at": NOON,
        "valid_until": NOON + HOUR,
    }  # fmt: skip
    return made(SignInCode, values, fields)


def attended(yard: Yard, **fields: Any) -> Attendance:
    """Save that the trainee came."""
    values = {
        "session": session(yard), "person": yard.trainee, "kind": "came", "how": "desk",
        "at": NOON, "by": yard.teacher,
    }  # fmt: skip
    return made(Attendance, values, fields)


def question(yard: Yard, **fields: Any) -> Question:
    """Save a question without an answer."""
    return made(
        Question, {"run": yard.run, "text": "Why lime?", "written_by": yard.trainee}, fields
    )


def feed(yard: Yard, **fields: Any) -> PersonFeed:
    """Save a feed of the trainee."""
    return made(PersonFeed, {"person": yard.trainee, "token_sha256": D}, fields)


def paper(yard: Yard, **fields: Any) -> HeldDocument:
    """Save a paper of the trainee."""
    values = {
        "person": yard.trainee, "provider": yard.provider, "kind": "induction",
        "title": "Site induction", "issuer": "The site", "issued_on": date(2026, 11, 2),
        "seen_by": yard.teacher,
    }  # fmt: skip
    return made(HeldDocument, values, fields)


def material(yard: Yard, **fields: Any) -> Material:
    """Save a file of a module."""
    values = {
        "program": yard.program, "module_key": "M1", "title": "Slides", "version": 1,
        "name": "slides.pdf", "file": "materials/a.pdf", "sha256": D, "size": 9,
        "uploaded_by": yard.lead,
    }  # fmt: skip
    return made(Material, values, fields)


def note(yard: Yard, **fields: Any) -> LogNote:
    """Save a note of the log."""
    return made(
        LogNote, {"run": yard.run, "text": "Dry fit.", "at": NOON, "by": yard.teacher}, fields
    )


def photo(yard: Yard, **fields: Any) -> LogPhoto:
    """Save a photograph of a note."""
    values = {
        "note": fields.pop("note", None) or note(yard), "position": 1, "caption": "Dry fit",
        "file": "log/a.jpg", "sha256": D, "size": 9, "width": 3, "height": 3,
    }  # fmt: skip
    return made(LogPhoto, values, fields)


def two_photos(yard: Yard) -> None:
    """Save two photographs at one place of a note."""
    one = note(yard)
    photo(yard, note=one)
    photo(yard, note=one)


def batch(yard: Yard, **fields: Any) -> MortarBatch:
    """Save a batch of mortar."""
    values = {
        "run": yard.run, "label": "1", "mix": "1 : 3", "mixed_at": NOON, "working_minutes": 90,
        "source": "The supplier's data sheet", "by": yard.teacher,
    }  # fmt: skip
    return made(MortarBatch, values, fields)


def curing(yard: Yard, **fields: Any) -> Curing:
    """Save a repair that cures."""
    values = {
        "run": yard.run, "grid": "C4", "what": "Dutchman", "protection": "Burlap",
        "started_at": NOON, "hours": 72, "source": "The specification", "by": yard.teacher,
    }  # fmt: skip
    return made(Curing, values, fields)


def complaint(yard: Yard, **fields: Any) -> Complaint:
    """Save an open complaint."""
    return made(Complaint, {"provider": yard.provider, "text": "Too cold."}, fields)


def change(yard: Yard, **fields: Any) -> ProgramChange:
    """Save a decided change."""
    values = {
        "program": yard.program, "text": "A heater.", "grounds": "Two complaints.",
        "decided_by": yard.lead, "decided_on": date(2026, 11, 5),
    }  # fmt: skip
    return made(ProgramChange, values, fields)


def consent(yard: Yard, **fields: Any) -> Consent:
    """Save a consent of the trainee."""
    values = {
        "person": yard.trainee, "provider": yard.provider, "kind": "photographs", "given": True,
        "words": "I may be seen.", "by": yard.trainee,
    }  # fmt: skip
    return made(Consent, values, fields)


def erasure(yard: Yard, **fields: Any) -> Erasure:
    """Save that the trainee was erased."""
    values = {
        "person": yard.trainee, "pseudonym": "Person 7", "reason": "Asked for it.", "by": yard.lead,
    }  # fmt: skip
    return made(Erasure, values, fields)


def guide(yard: Yard, **fields: Any) -> GuideRead:
    """Save that a guide was read."""
    return made(GuideRead, {"person": yard.trainee, "guide": "run"}, fields)


def asked(yard: Yard, **fields: Any) -> ProgramPrerequisite:
    """Save what a person has to bring."""
    values = {
        "program": yard.program, "position": 1, "key": "induction", "title": "Site induction",
        "applies": "practical", "accepts": "The site's sheet.", "source": "The site",
    }  # fmt: skip
    return made(ProgramPrerequisite, values, fields)


def one_bay_twice(yard: Yard) -> None:
    """Plan two sessions that overlap by a minute in one bay."""
    bay = place(yard)
    session(yard, place=bay)
    session(yard, place=bay, starts_at=NOON + HOUR - timedelta(minutes=1), ends_at=NOON + 2 * HOUR)


def one_instructor_twice(yard: Yard) -> None:
    """Let one instructor teach two sessions at once."""
    teaches(yard, session(yard))
    teaches(yard, session(yard))


Maker = Callable[[Yard], object]
BREAK: dict[str, Maker] = {
    "prerequisite_key_once": lambda y: (asked(y), asked(y, position=2)),
    "prerequisite_position_once": lambda y: (asked(y), asked(y, key="fit")),
    "prerequisite_applies_known": lambda y: asked(y, applies="never"),
    "prerequisite_not_instructor": lambda y: asked(y, key="instructor"),
    "prerequisite_source_given": lambda y: asked(y, source=""),
    "place_name_once_a_site": lambda y: (place(y), place(y, name="BAY 3")),
    "place_kind_known": lambda y: place(y, kind="roof"),
    "place_name_given": lambda y: place(y, name=""),
    "place_holds_somebody": lambda y: place(y, capacity=0),
    "session_state_known": lambda y: session(y, state="lost"),
    "session_title_given": lambda y: session(y, title=""),
    "session_ends_after_start": lambda y: session(y, ends_at=NOON),
    "session_instructor_once": lambda y: (
        one := session(y, state="cancelled"), teaches(y, one), teaches(y, one),
    ),
    "code_token_given": lambda y: code(y, token=""),
    "code_ends_after_start": lambda y: code(y, valid_until=NOON),
    "attendance_kind_known": lambda y: attended(y, kind="slept"),
    "attendance_how_known": lambda y: attended(y, how="dream"),
    "question_text_given": lambda y: question(y, text=""),
    "question_answered_whole": lambda y: question(y, answer="It breathes."),
    "person_feed_token_form": lambda y: feed(y, token_sha256="secret"),
    "person_feed_current_once": lambda y: (feed(y), feed(y, token_sha256="e" * 64)),
    "document_kind_given": lambda y: paper(y, kind=""),
    "document_title_given": lambda y: paper(y, title=""),
    "document_issuer_given": lambda y: paper(y, issuer=""),
    "document_expires_after_issue": lambda y: paper(y, expires_on=date(2026, 11, 1)),
    "document_file_with_digest": lambda y: paper(y, file="a.pdf"),
    "taken_back_with_reason": lambda y: made(
        DocumentTakenBack, {"document": paper(y), "reason": "", "by": y.lead}, {}
    ),
    "material_version_once": lambda y: (material(y), material(y)),
    "material_title_given": lambda y: material(y, title=""),
    "material_digest_form": lambda y: material(y, sha256="D"),
    "material_version_from_one": lambda y: material(y, version=0, changed="All."),
    "material_change_said": lambda y: material(y, version=2),
    "note_temperatures_of_this_earth": lambda y: note(y, air_celsius=61),
    "log_photo_position_once": two_photos,
    "log_photo_caption_given": lambda y: photo(y, caption=""),
    "log_photo_digest_form": lambda y: photo(y, sha256=""),
    "batch_label_once_a_run": lambda y: (batch(y), batch(y)),
    "batch_mix_given": lambda y: batch(y, mix=""),
    "batch_source_given": lambda y: batch(y, source=""),
    "batch_works_a_while": lambda y: batch(y, working_minutes=0),
    "batch_discarded_later": lambda y: batch(y, discarded_at=NOON - HOUR),
    "curing_place_given": lambda y: curing(y, grid=""),
    "curing_source_given": lambda y: curing(y, source=""),
    "curing_lasts": lambda y: curing(y, hours=0),
    "curing_ends_after_start": lambda y: curing(y, ended_at=NOON - HOUR),
    "complaint_state_known": lambda y: complaint(y, state="lost"),
    "complaint_kind_known": lambda y: complaint(y, kind="rumour"),
    "complaint_not_answered_by_concerned": lambda y: complaint(
        y, concerns=y.lead, state="answered", answer="No.", answered_by=y.lead, answered_at=NOON
    ),
    "complaint_text_given": lambda y: complaint(y, text=""),
    "complaint_answered_whole": lambda y: complaint(y, state="answered"),
    "change_text_given": lambda y: change(y, text=""),
    "change_grounds_given": lambda y: change(y, grounds=""),
    "change_due_after_decision": lambda y: change(y, due_on=date(2026, 11, 4)),
    "change_done_after_decision": lambda y: change(y, done_on=date(2026, 11, 4)),
    "consent_kind_known": lambda y: consent(y, kind="all"),
    "consent_words_kept": lambda y: consent(y, words=""),
    "erasure_reason_given": lambda y: erasure(y, reason=""),
    "erasure_export_form": lambda y: erasure(y, export_sha256="x"),
    "guide_read_once": lambda y: (guide(y), guide(y)),
    "guide_named": lambda y: guide(y, guide=""),
}  # fmt: skip
CLASHES: dict[str, Maker] = {
    "session_place_free": one_bay_twice,
    "session_instructor_free": one_instructor_twice,
}
ONLY_GROW: dict[str, Maker] = {
    "attendance": attended,
    "helddocument": paper,
    "documenttakenback": lambda y: made(
        DocumentTakenBack, {"document": paper(y), "reason": "Forged.", "by": y.lead}, {}
    ),
    "material": material,
    "lognote": note,
    "logphoto": photo,
    "reaction": lambda y: made(Reaction, {"run": y.run, "answers": {}, "on": NOON.date()}, {}),
    "reactiongiven": lambda y: made(ReactionGiven, {"enrolment": y.run.enrolments.get()}, {}),
    "consent": consent,
    "erasure": erasure,
}


@pytest.mark.parametrize("name", [*BREAK, *CLASHES])
def test_each_named_constraint_fires(yard: Yard, name: str) -> None:
    with pytest.raises(IntegrityError, match=f'"{name}"'), transaction.atomic():
        (BREAK | CLASHES)[name](yard)


def test_what_follows_at_once_is_allowed(yard: Yard) -> None:
    bay = place(yard)
    first = session(yard, place=bay)
    later = session(yard, place=bay, starts_at=NOON + HOUR, ends_at=NOON + 2 * HOUR)
    for each in (first, later):
        teaches(yard, each)
    assert yard.run.sessions.count() == 2


def test_a_moved_session_takes_its_instructors_along(yard: Yard) -> None:
    first = session(yard)
    later = session(yard, starts_at=NOON + HOUR, ends_at=NOON + 2 * HOUR)
    for each in (first, later):
        teaches(yard, each)
    later.starts_at = NOON + HOUR / 2
    with pytest.raises(IntegrityError, match="session_instructor_free"), transaction.atomic():
        later.save()
    Session.objects.filter(pk=first.pk).update(state="cancelled")
    later.save()
    assert later.teaching.get().starts_at == later.starts_at


@pytest.mark.parametrize("table", ONLY_GROW)
@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_what_was_so_never_changes(yard: Yard, table: str, statement: str) -> None:
    ONLY_GROW[table](yard)
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            cursor.execute(statement.format(f"training_{table}"))
