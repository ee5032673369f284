"""Files that no record names."""

import os
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import call_command

from certificates.actions import sweep
from certificates.actions.issue import issue_record
from certificates.actions.sweep import sweep_files
from certificates.stored import read_as_issued
from tests.assessments.builders import make_yard
from tests.certificates.builders import met_decision
from training.models import Material

pytestmark = pytest.mark.django_db
OLD = timedelta(hours=2).total_seconds()


def left_behind(name: str, *, age: float = OLD) -> str:
    """Store a file that no row names, ``age`` seconds old."""
    name = default_storage.save(name, ContentFile(b"%PDF"))
    path = Path(default_storage.path(name))
    then = path.stat().st_mtime - age
    os.utime(path, (then, then))
    return name


def test_only_old_files_that_no_record_names_are_removed() -> None:
    yard = make_yard()
    record = issue_record(actor=yard.lead, decision=met_decision(yard))
    path = Path(record.pdf.path)
    then = path.stat().st_mtime - OLD
    os.utime(path, (then, then))
    orphans = {left_behind("records/2026/A.pdf"), left_behind("records/B.pdf")}
    young = left_behind("records/2026/C.pdf", age=60)
    elsewhere = left_behind("photos/D.jpg")
    assert set(sweep_files(only_look=True)) == orphans
    assert all(default_storage.exists(name) for name in orphans)
    assert set(sweep_files()) == orphans
    assert not any(default_storage.exists(name) for name in orphans)
    assert default_storage.exists(young)
    assert default_storage.exists(elsewhere)
    assert read_as_issued(record).startswith(b"%PDF")
    assert sweep_files() == []


def test_files_of_courses_are_swept_as_well() -> None:
    yard = make_yard()
    material = Material.objects.create(
        program=yard.program,
        module_key="M1",
        title="Slides",
        version=1,
        name="slides.pdf",
        file=left_behind("materials/2026/kept"),
        sha256="d" * 64,
        size=4,
        uploaded_by=yard.lead,
    )
    orphans = {
        left_behind(f"{folder}/2026/A") for folder in ("materials", "reports", "documents", "log")
    }
    assert set(sweep_files()) == orphans
    assert default_storage.exists(str(material.file.name))


def test_an_empty_storage_has_nothing_to_remove() -> None:
    assert sweep_files() == []


def test_many_files_are_compared_in_batches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sweep, "AT_ONCE", 2)
    names = {left_behind(f"records/2026/{number}.pdf") for number in range(5)}
    assert set(sweep_files()) == names


def test_the_command_names_the_files_and_looks_only_when_asked_to() -> None:
    name = left_behind("records/2026/A.pdf")
    for arguments, last in (
        (["--dry-run"], "1 file would be removed."),
        ([], "1 file removed."),
        ([], "0 files removed."),
    ):
        out = StringIO()
        call_command("sweep_files", *arguments, stdout=out)
        assert out.getvalue().splitlines()[-1] == last
    assert not default_storage.exists(name)
