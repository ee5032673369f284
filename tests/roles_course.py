"""The objects of a course that ``tests/test_roles.py`` asks each role about."""

from datetime import timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.utils import timezone

from assessments.actions.reports import ask_for_file
from training.actions.changes import decide_change
from training.actions.complaints import make_complaint
from training.actions.materials import add_material
from training.actions.person_feeds import make_person_feed
from training.models import (
    Attendance,
    Curing,
    Enrolment,
    HeldDocument,
    LogPhoto,
    MortarBatch,
    Person,
    Question,
    SignInCode,
)

OF_RUN = (
    "run_calendar", "calendar_publish", "session_new", "sessions_propose", "run_capacity",
    "run_papers", "run_reactions", "complaint_new", "run_mortar", "run_mortar_mix",
    "run_curing_begin", "run_hours", "run_hours_pdf", "run_questions", "run_report",
    "run_report_preview", "run_report_make", "run_log", "run_log_write", "run_consents",
)  # fmt: skip
OF_PROGRAM = (
    "program_changes", "material_new", "program_versions", "program_diff", "program_copy",
    "program_evaluation", "evaluation_pdf", "evidence_file", "evidence_file_pdf",
)  # fmt: skip
OF_ENROLMENT = ("waiting_first", "reaction_new", "my_course", "consent_note")
OF_PERSON = ("person_papers", "document_new", "person_data", "person_erase")
OF_SESSION = (
    "session_edit", "session_copy", "session_cancel", "session_code", "session_presence",
    "session_sheet",
)  # fmt: skip
OF_NOTE = ("log_note", "log_note_correct", "log_note_photographs", "log_note_shows")


def course_of(enrolment: Enrolment, lead: Person) -> dict[str, Any]:
    """Return one of everything about the course of ``enrolment``; ``lead`` makes what lacks."""
    run, person = enrolment.run, enrolment.person
    now = timezone.now()
    session = run.sessions.order_by("starts_at")[0]
    code = SignInCode.objects.create(
        session=session, token="ACDEFGHJ", made_by=lead, valid_until=now + timedelta(minutes=9)
    )
    photo = LogPhoto.objects.order_by("note__at")[0]
    material = add_material(
        actor=lead,
        program=run.program,
        module=run.program.modules.all()[0],
        title="Slides",
        upload=ContentFile(b"slides", name="slides.pdf"),
    )
    change = decide_change(
        actor=lead,
        program=run.program,
        text="A heater in bay 3.",
        grounds="Two complaints.",
        decided_on=timezone.localdate(),
        due_on=None,
    )
    return {
        "session": session,
        "code": code,
        "attendance": Attendance.objects.filter(session=session, person=person)[0],
        "place": session.place,
        "document": HeldDocument.objects.filter(person=person)[0],
        "log_note": photo.note,
        "log_photo": photo,
        "batch": MortarBatch.objects.get(),
        "curing": Curing.objects.get(),
        "question": Question.objects.get(),
        "material": material,
        "complaint": make_complaint(actor=person, run=run, text="Bay 3 is cold all day."),
        "change": change,
        "report_file": ask_for_file(actor=lead, run=run, paper="letter"),
        "person_feed_token": make_person_feed(actor=person)[1],
    }


def course_objects(world: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """Return the objects of the addresses about a course, by the address's name."""
    run, enrolment, session = world["run"].pk, world["enrolment"], world["session"]
    person = enrolment.person_id
    return {
        **{name: {"pk": run} for name in OF_RUN},
        **{name: {"pk": world["program"].pk} for name in OF_PROGRAM},
        **{name: {"pk": enrolment.pk} for name in OF_ENROLMENT},
        **{name: {"pk": person} for name in OF_PERSON},
        **{name: {"pk": session.pk} for name in OF_SESSION},
        **{name: {"pk": world["log_note"].pk} for name in OF_NOTE},
        "evaluation_tables": {"pk": world["program"].pk, "form": "csv"},
        "run_log_day": {"pk": run, "day": world["log_note"].at.date().isoformat()},
        "run_report_stage": {"pk": run, "stage": "cavity"},
        "report_picture": {"pk": run, "picture": f"log-{world['log_photo'].pk}"},
        "report_file": {"pk": world["report_file"].pk},
        "report_file_pdf": {"pk": world["report_file"].pk},
        "place_list": {"pk": session.place.site_id},
        "place_new": {"pk": session.place.site_id},
        "place_edit": {"pk": session.place_id},
        "person_feed": {"token": world["person_feed_token"]},
        "document_file": {"pk": world["document"].pk},
        "document_take_back": {"pk": world["document"].pk},
        "complaint": {"pk": world["complaint"].pk},
        "change_done": {"pk": world["change"].pk},
        "material_file": {"pk": world["material"].pk},
        "batch_discard": {"pk": world["batch"].pk},
        "curing_end": {"pk": world["curing"].pk},
        "presence_sign_in": {"token": world["code"].token},
        "presence_note": {"pk": session.pk, "person_id": person},
        "presence_correct": {"pk": world["attendance"].pk},
        "question_answer": {"pk": world["question"].pk},
        "log_photo": {"pk": world["log_photo"].pk},
        "guide_put_away": {"key": "run"},
    }
