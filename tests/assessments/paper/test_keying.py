"""Keying in a sheet of paper: all of it or nothing, as the assessor's, with the sheet itself."""

import hashlib
from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.core.files.storage import default_storage
from django.db import DatabaseError, transaction
from django.urls import reverse
from django.utils import timezone

from assessments.actions.pages import Device
from assessments.actions.paper import key_in
from assessments.models import Attempt, Observation, PaperObservation, PaperSheet
from tests.assessments.builders import Yard, score_all
from tests.assessments.paper.keying import (
    VALUES,
    WHOLE,
    Keying,
    browser,
    files,
    hidden,
    image,
    local,
    nothing_stored,
    stored,
)
from tests.factories import make_organisation, make_role
from training.actions.log import verify_log
from training.models import LogEntry, Organisation, Role
from training.scans import Scan

pytestmark = pytest.mark.django_db


def test_who_may_key_in_and_see_the_sheet(yard: Yard, attempt: Attempt) -> None:
    contractor = make_role(Role.Kind.CONTRACTOR, make_organisation(Organisation.Kind.CONTRACTOR))
    stranger = make_role(Role.Kind.LEAD, make_organisation())
    Keying(yard.instructor, attempt).send()
    sheet = PaperSheet.objects.get()
    people = (yard.lead, yard.instructor, yard.trainee, contractor, stranger)
    keying = reverse("attempt_paper", args=[attempt.pk])
    assert [browser(each).get(keying).status_code for each in people] == [200, 200, 403, 404, 404]
    assert [browser(each).post(keying).status_code for each in people] == [422, 422, 403, 404, 404]
    seen = reverse("paper_sheet", args=[sheet.pk])
    # Of an open attempt a trainee sees only that it is being assessed.
    assert [browser(each).get(seen).status_code for each in people] == [200, 200, 404, 404, 404]
    Attempt.objects.filter(pk=attempt.pk).update(state=Attempt.State.DECIDED)
    assert [browser(each).get(seen).status_code for each in people] == [200, 200, 200, 404, 404]


def test_a_whole_sheet(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.instructor, attempt)
    response = page.send()
    assert response["Location"] == reverse("attempt_score", args=[attempt.pk])
    assert stored(attempt) == VALUES
    sheet = PaperSheet.objects.get()
    assert (sheet.assessor, sheet.keyed_by) == (yard.instructor, yard.instructor)
    assert sheet.sha256 == hashlib.sha256(image()).hexdigest()
    assert (sheet.size, sheet.kind) == (len(image()), "image/jpeg")
    assert sheet.file.read() == image()
    sheet.file.close()
    rows = attempt.observations.all()
    assert {row.on_paper.sheet for row in rows} == {sheet}
    assert {local(row.device_time) for row in rows} == {page.scored_at}
    assert {row.device_zone for row in rows} == {"America/New_York"}
    assert {row.note for row in rows} == {"", "One by the left arris."}
    assert sorted(row.seq for row in rows) == [1, 2, 3, 4, 5, 6]


def test_what_is_empty_on_paper_is_left_out(yard: Yard, attempt: Attempt) -> None:
    some = {name: text for name, text in WHOLE.items() if "C1" not in name and "C5" not in name}
    some |= {"criterion-C4-count": "", "criterion-C4-not_applicable": "on"}
    some |= {"criterion-C4-note": "", "criterion-C4-reason": "No grout was used."}
    Keying(yard.instructor, attempt).send(some)
    expected = {key: VALUES[key] for key in ("C2", "fit", "C3")}
    gone = {"not_applicable": True, "reason": "No grout was used."}
    assert stored(attempt) == {**expected, "C4": gone}


def test_a_wrong_reading_is_told_and_everything_typed_is_kept(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.instructor, attempt)
    response = page.send(
        {**WHOLE, "criterion-C2-reading_1": "an eighth", "criterion-C4-count": "-1"}
    )
    said = response.content.decode()
    assert response.status_code == 422
    assert nothing_stored()
    assert '<a href="#criterion-C2">2. Criterion C2</a>' in said
    assert '<a href="#criterion-C4">5. Criterion C4</a>' in said
    assert "Write 0 or more." in said
    for typed in ('value="an eighth"', 'value="1/8&quot;"', "One by the left arris.", 'value="-1"'):
        assert typed in said, typed
    assert hidden(said) == page.hidden
    # The browser does not send the file again: the one that came is kept until all is right.
    assert "The file that you sent is kept" in said
    assert page.send(file=None).status_code == 302
    assert stored(attempt) == VALUES
    assert PaperSheet.objects.get().sha256 == hashlib.sha256(image()).hexdigest()
    assert not default_storage.listdir(f"paper-held/{yard.instructor.pk}")[1]


def test_what_is_left_empty_is_not_asked_for_beside_a_fault(yard: Yard, attempt: Attempt) -> None:
    response = Keying(yard.instructor, attempt).send({"criterion-C4-count": "-1"})
    said = response.content.decode()
    assert "Write 0 or more." in said
    assert "Write reading 1." not in said
    assert "Choose yes or no." not in said


def test_a_held_file_is_nobody_elses(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.instructor, attempt)
    page.send(scored_at="")
    other = Keying(yard.lead, attempt)
    other.hidden["sheet"] = page.hidden["sheet"]
    assert "Send a photograph or scan" in other.send(file=None).content.decode()


def test_a_sheet_without_a_photograph_is_refused(yard: Yard, attempt: Attempt) -> None:
    response = Keying(yard.instructor, attempt).send(file=None)
    assert response.status_code == 422
    assert "Send a photograph or scan of the sheet" in response.content.decode()
    assert nothing_stored()


def test_an_empty_sheet_is_refused(yard: Yard, attempt: Attempt) -> None:
    response = Keying(yard.instructor, attempt).send({})
    assert response.status_code == 422
    assert "Nothing is entered yet" in response.content.decode()
    assert nothing_stored()


@pytest.mark.parametrize(
    ("hours", "said"),
    [(1, "This lies in the future"), (-1, "The passing standard was sealed only")],
)
def test_when_it_was_scored(yard: Yard, attempt: Attempt, hours: int, said: str) -> None:
    moment = local(timezone.now() + timedelta(hours=hours))
    response = Keying(yard.instructor, attempt).send(scored_at=moment)
    assert response.status_code == 422
    assert said in response.content.decode()
    assert nothing_stored()
    assert not files()


@pytest.mark.parametrize("typed", ["", "yesterday", "2026-11-31T10:00"])
def test_a_moment_that_is_none(yard: Yard, attempt: Attempt, typed: str) -> None:
    response = Keying(yard.instructor, attempt).send(scored_at=typed)
    assert response.status_code == 422
    assert nothing_stored()


def test_the_same_form_twice_is_stored_once(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.instructor, attempt)
    assert [page.send().status_code for _ in range(2)] == [302, 302]
    assert (PaperSheet.objects.count(), Observation.objects.count()) == (1, 6)
    assert (PaperObservation.objects.count(), len(files())) == (6, 1)
    assert LogEntry.objects.filter(verb="paper.keyed").count() == 1


def test_the_same_form_with_other_entries_is_refused(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.instructor, attempt)
    page.send()
    for changes in ({"criterion-C1-level": "1"}, {"criterion-C1-level": ""}):
        response = page.send({**WHOLE, **changes})
        assert response.status_code == 422
        assert "This sheet is kept already" in response.content.decode()
    assert stored(attempt) == VALUES


def test_what_was_scored_on_a_device_is_corrected_or_stands(yard: Yard, attempt: Attempt) -> None:
    score_all(attempt, yard.instructor, C3=None, C5=None)
    page = Keying(yard.instructor, attempt)
    assert page.opened.count("Scored already.") == 4
    assert page.send({"criterion-C1-level": "0", "criterion-C3-answer": "no"}).status_code == 302
    current = attempt.observations.filter(replaced_by=None)
    assert {row.subject_key: row.value for row in current if row.subject_key in ("C1", "C3")} == {
        "C1": {"level": 0},
        "C3": {"answer": False},
    }
    assert attempt.observations.get(replaces__isnull=False).subject_key == "C1"


def test_one_refused_entry_leaves_nothing_stored(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.instructor, attempt)
    score_all(attempt, yard.instructor, C1=None, C2=None, C4=None, C5=None, fit=None)
    response = page.send()
    said = response.content.decode()
    assert response.status_code == 422
    assert "This was scored already, in another window or on another device." in said
    assert '<a href="#criterion-C3">4. Criterion C3</a>' in said
    assert list(stored(attempt)) == ["C3"]
    assert not PaperSheet.objects.exists()
    assert not files()


def test_a_lead_keys_in_for_an_instructor(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.lead, attempt, f"?for={yard.instructor.pk}")
    assert page.send()["Location"] == reverse("attempt", args=[attempt.pk])
    rows = attempt.observations.all()
    assert {row.assessor for row in rows} == {yard.instructor}
    named = f"Keyed in from paper by {yard.lead}."
    assert {row.note for row in rows} == {named, f"One by the left arris.\n{named}"}
    sheet = PaperSheet.objects.get()
    assert (sheet.assessor, sheet.keyed_by) == (yard.instructor, yard.lead)
    entry = LogEntry.objects.get(verb="paper.keyed")
    assert (entry.actor, entry.data["assessor"]) == (yard.lead, yard.instructor.pk)


def test_an_instructor_keys_in_for_nobody_else(yard: Yard, attempt: Attempt) -> None:
    other = make_role(Role.Kind.INSTRUCTOR, yard.provider)
    yard.run.instructors.add(other)
    address = reverse("attempt_paper", args=[attempt.pk])
    assert browser(yard.instructor).get(f"{address}?for={other.pk}").status_code == 404
    assert browser(yard.lead).get(f"{address}?for={yard.trainee.pk}").status_code == 404
    with pytest.raises(PermissionDenied):
        key_in(
            actor=yard.instructor,
            attempt=attempt,
            assessor=other,
            device=Device("00000000-0000-4000-8000-000000000001", str(attempt.pk)),
            sheet=attempt.pk,
            scored_at=timezone.now(),
            scan=Scan(image(), PaperSheet.Kind.JPEG),
            entries=[],
        )


def test_the_log(yard: Yard, attempt: Attempt) -> None:
    Keying(yard.instructor, attempt).send()
    entry = LogEntry.objects.get(verb="paper.keyed")
    sheet = PaperSheet.objects.get()
    assert (entry.actor, entry.subject_id) == (yard.instructor, str(sheet.pk))
    assert entry.data["sha256"] == sheet.sha256
    assert set(entry.data["observations"]) == {str(row.pk) for row in Observation.objects.all()}
    assert LogEntry.objects.filter(verb="observation.recorded").count() == 6
    assert verify_log() is None


def test_a_sheet_is_never_changed(yard: Yard, attempt: Attempt) -> None:
    Keying(yard.instructor, attempt).send()
    for changed in (
        lambda: PaperObservation.objects.all().delete(),
        lambda: PaperSheet.objects.update(size=1),
        lambda: PaperSheet.objects.all()._raw_delete("default"),
    ):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            changed()


def test_the_pages_say_that_it_was_keyed_from_paper(yard: Yard, attempt: Attempt) -> None:
    link = "Keyed from paper"
    for name in ("attempt", "attempt_decide"):
        page = browser(yard.lead).get(reverse(name, args=[attempt.pk])).content.decode()
        assert link not in page
    Keying(yard.lead, attempt, f"?for={yard.instructor.pk}").send()
    sheet = PaperSheet.objects.get()
    for name in ("attempt", "attempt_decide"):
        page = browser(yard.lead).get(reverse(name, args=[attempt.pk])).content.decode()
        assert link in page
        assert reverse("paper_sheet", args=[sheet.pk]) in page
        assert f"keyed in by {yard.lead}" in page
    own = browser(yard.trainee).get(reverse("attempt", args=[attempt.pk])).content.decode()
    assert link not in own


def test_a_signed_off_attempt_takes_no_sheet(yard: Yard, attempt: Attempt) -> None:
    page = Keying(yard.instructor, attempt)
    Attempt.objects.filter(pk=attempt.pk).update(state=Attempt.State.DECIDED)
    assert page.send()["Location"] == reverse("attempt", args=[attempt.pk])
    assert nothing_stored()


def test_the_pages_lead_there(yard: Yard, attempt: Attempt) -> None:
    keying = reverse("attempt_paper", args=[attempt.pk])
    run = browser(yard.instructor).get(reverse("run", args=[yard.run.pk])).content.decode()
    assert keying in run
    assert reverse("run_score_sheets", args=[yard.run.pk]) in run
    assert reverse("score_sheet_pdf", args=[yard.enrolment.pk]) in run
    score = browser(yard.instructor).get(reverse("attempt_score", args=[attempt.pk]))
    assert keying in score.content.decode()
