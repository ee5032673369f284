"""The PDF of a report: made apart, tagged, taken up again, refused with a reason."""

from datetime import timedelta
from io import BytesIO
from pathlib import Path

import pikepdf
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_tasks import TaskResultStatus
from django_tasks_db.models import DBTaskResult
from page import validate_pdf_bytes

from assessments.actions import report_files
from assessments.actions.report_files import LEASE, PATIENCE, make_file, take_up_files
from assessments.actions.reports import ask_for_file
from assessments.models import ReportFile
from assessments.trainingreport import apart
from assessments.trainingreport.apart import NotMade, Stopped, render_apart
from assessments.trainingreport.job import write_job
from tests.assessments.builders import Yard, make_yard
from tests.assessments.site.pictures import exif, jpeg
from tests.assessments.trainingreport.builders import decided, photograph
from tests.certificates.jobs.builders import work_off
from tests.certificates.pdf.tools import text_of
from training.actions.log import verify_log

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def asked(yard: Yard) -> ReportFile:
    return ask_for_file(actor=yard.lead, run=yard.run, paper="letter")


def now(file: ReportFile) -> ReportFile:
    file.refresh_from_db()
    return file


def test_a_report_of_forty_photographs(yard: Yard) -> None:
    decided(yard)
    turned = jpeg(90, 60, exif=exif({0x0112: 6}))  # Exif 2.32: 6 is turned by a right angle
    photograph(yard, caption="Turned", data=turned, width=60, height=90)
    for number in range(39):
        photograph(yard, ("fit", "set", "")[number % 3], caption=f"Joint {number} raked out")
    file = asked(yard)
    assert file.parts == 42
    work_off()
    file = now(file)
    assert (file.state, file.error, file.done) == ("ready", "", 42)
    with file.pdf.open("rb") as stored:
        pdf = stored.read()
    # The judge is an independent validator of ISO 14289-1.
    report = validate_pdf_bytes(pdf, profile="ua1")
    assert [f"{each.rule_id}: {each.message}" for each in report.failures] == []
    with pikepdf.open(BytesIO(pdf)) as read:
        pages = len(read.pages)
        alts = {
            str(thing.Alt)
            for thing in read.objects
            if isinstance(thing, pikepdf.Dictionary) and thing.get("/S") == "/Figure"
        }
    assert {f"Joint {number} raked out" for number in range(39)} <= alts
    text = text_of(pdf)
    for heading in ("Site and scope", "Results", "Who may do which work", "What follows"):
        assert heading in text
    assert f"Page {pages} of {pages}" in text
    assert yard.standard.digest in text.replace("\n", "")
    assert "1 met the passing standard" in text.replace("\n", " ")
    client = Client()
    client.force_login(yard.instructor)
    answer = client.get(reverse("report_file_pdf", args=[file.pk]))
    assert b"".join(answer.streaming_content) == pdf  # type: ignore[attr-defined]
    assert verify_log() is None
    make_file(str(file.pk))
    assert now(file).ready_at == file.ready_at


def killed(file: ReportFile, ago: timedelta) -> None:
    """Leave the file and its task as a worker does that is killed."""
    at = timezone.now() - ago
    DBTaskResult.objects.update(status=TaskResultStatus.RUNNING, started_at=at)
    ReportFile.objects.filter(pk=file.pk).update(state="making", taken_at=at, done=1)


def test_a_file_of_a_killed_worker_is_taken_up_again(yard: Yard) -> None:
    file = asked(yard)
    killed(file, LEASE - timedelta(seconds=30))
    assert take_up_files() == 0
    killed(file, LEASE)
    assert take_up_files() == 1
    # It is in the queue again: nobody puts it there twice.
    assert take_up_files() == 0
    assert DBTaskResult.objects.filter(status=TaskResultStatus.READY).count() == 1
    taken = report_files._take(file.pk)
    assert taken is not None
    assert (taken.state, taken.done) == ("making", 0)
    # Two workers may meet at one file: the second leaves it.
    assert report_files._take(file.pk) is None


def test_a_file_that_never_comes_to_an_end_is_given_up(yard: Yard) -> None:
    file = asked(yard)
    killed(file, LEASE)
    ReportFile.objects.update(asked_at=timezone.now() - PATIENCE)
    assert take_up_files() == 0
    assert (now(file).state, file.error) == ("failed", report_files.GIVEN_UP)


def test_a_damaged_photograph_is_named(yard: Yard) -> None:
    photo = photograph(yard, caption="Sill before work")
    whole = jpeg(300, 200)
    Path(photo.file.path).write_bytes(whole[: len(whole) // 2])
    file = asked(yard)
    make_file(str(file.pk))
    assert now(file).state == "failed"
    assert file.error.startswith("Photograph 1 (“Sill before work”) cannot be read any longer.")


def test_a_photograph_kept_no_longer_is_said_in_its_place(yard: Yard) -> None:
    photo = photograph(yard)
    file = asked(yard)
    Path(photo.file.path).unlink()
    make_file(str(file.pk))
    assert now(file).state == "ready"
    with file.pdf.open("rb") as stored:
        assert "The photograph is kept no longer." in text_of(stored.read())


def test_too_little_memory_ends_the_process_and_not_the_worker(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(apart, "MEMORY", 64 * 1024 * 1024)
    file = asked(yard)
    make_file(str(file.pk))
    assert (now(file).state, file.error) == ("failed", apart.TOO_LARGE)


def test_a_worker_whose_file_was_taken_over_stops_and_keeps_nothing(
    yard: Yard, tmp_path: Path
) -> None:
    photograph(yard)
    job = write_job(tmp_path, asked(yard).document)
    with pytest.raises(Stopped):
        render_apart(job, lambda done: False)


def test_a_process_that_takes_too_long_is_ended(yard: Yard, tmp_path: Path) -> None:
    photograph(yard)
    job = write_job(tmp_path, asked(yard).document)
    with pytest.raises(NotMade):
        render_apart(job, lambda done: True, wall_seconds=0)
