"""Submitting: who may, what is refused, that numbers have no gaps, and that no file is left."""

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import translation

from certificates.actions import submittals
from certificates.actions.submittals import CoverageChanged, submit
from certificates.models import Record, Submittal, SubmittedRecord
from certificates.queries.submittals import statement_now
from certificates.signing import KeyStoreError
from certificates.submittal.stored import read_as_submitted
from tests.assessments.builders import at_once
from tests.certificates.crew.submittals.conftest import Works
from tests.factories import make_role
from training.actions.log import verify_log
from training.errors import Refused
from training.models import LogEntry, Role


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw and sign nothing: the file is a line of text (test_document holds the real one)."""

    def drawn(document: dict[str, Any], **_: object) -> bytes:
        return f"%PDF-{document['number']} {document['project']['name']}".encode()

    monkeypatch.setattr(submittals, "render_submittal", drawn)
    monkeypatch.setattr(submittals, "sign", lambda pdf, *args, **about: pdf + b" signed")


def stored_files() -> list[Path]:
    """Return the files of submittals in the storage."""
    folder = Path(settings.MEDIA_ROOT) / "submittals"
    return [path for path in folder.rglob("*") if path.is_file()]


def test_from_the_crew_to_the_signed_file(works: Works) -> None:
    made = works.submit()
    assert (made.number, made.submitted_by) == (1, works.manager)
    assert b"/ByteRange" in read_as_submitted(made)
    assert [row.record for row in made.records.all()] == works.records
    entry = LogEntry.objects.get(verb="submittal.made")
    assert entry.data["pdf_sha256"] == made.pdf_sha256
    assert verify_log() is None


@pytest.mark.usefixtures("quick")
def test_numbers_count_within_the_project(works: Works) -> None:
    assert [works.submit().number for _ in range(3)] == [1, 2, 3]
    assert len(stored_files()) == 3


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("who", ["representative", "stranger", "other firm", "mason"])
def test_only_the_contractors_manager_submits(works: Works, who: str) -> None:
    people: dict[str, Callable[[], Any]] = {
        "representative": lambda: works.representative,
        "stranger": lambda: make_role(Role.Kind.LEAD, works.program.provider),
        "other firm": lambda: make_role(
            Role.Kind.CONTRACTOR,
            type(works.contractor).objects.create(kind="contractor", name="Other Ashlar Ltd"),
        ),
        "mason": lambda: works.masons[0],
    }
    with pytest.raises(PermissionDenied):
        submit(actor=people[who](), project=works.project, seen="", met_by={})
    assert Submittal.objects.count() == 0


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("text", ["", "  \n", "x" * 2001])
def test_each_gap_needs_words(works: Works, text: str) -> None:
    (gap,) = works.statement().gaps
    with pytest.raises(Refused) as caught:
        works.submit(text)
    assert caught.value.field == f"gap_{gap.key}"
    assert stored_files() == []


@pytest.mark.usefixtures("quick")
def test_what_was_not_looked_at_is_not_signed(works: Works) -> None:
    """The record is withdrawn between the page and the press."""
    seen = works.statement().seen
    works.leave(works.masons[0])
    assert works.statement().seen != seen
    with pytest.raises(CoverageChanged):
        submit(actor=works.manager, project=works.project, seen=seen, met_by={})
    assert Submittal.objects.count() == 0


def test_a_change_while_it_is_signed_is_seen(
    works: Works, monkeypatch: pytest.MonkeyPatch, quick: None
) -> None:
    """The mason leaves after the page was compared, and before the row is written."""

    def left(pdf: bytes, *_: object, **about: object) -> bytes:
        works.leave(works.masons[0])
        return pdf

    monkeypatch.setattr(submittals, "sign", left)
    with pytest.raises(CoverageChanged):
        works.submit()
    assert Submittal.objects.count() == 0
    assert stored_files() == []


@pytest.mark.usefixtures("quick")
def test_nothing_is_left_when_the_row_does_not_come_to_be(
    works: Works, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(**_: object) -> None:
        raise RuntimeError("the log cannot be written")

    monkeypatch.setattr(submittals, "write_log", broken)
    with pytest.raises(RuntimeError, match="log"):
        works.submit()
    assert (Submittal.objects.count(), SubmittedRecord.objects.count()) == (0, 0)
    assert stored_files() == []


def test_a_key_that_cannot_be_used_is_told(
    works: Works, monkeypatch: pytest.MonkeyPatch, quick: None
) -> None:
    def closed(*_: object, **__: object) -> bytes:
        raise KeyStoreError("the passphrase is missing")

    monkeypatch.setattr(submittals, "sign", closed)
    with pytest.raises(Refused, match="cannot be signed"):
        works.submit()


def test_a_project_without_posts_or_that_is_over(works: Works, quick: None) -> None:
    type(works.project).objects.filter(pk=works.project.pk).update(
        starts_on="2020-01-01", ends_on="2020-02-01"
    )
    works.project.refresh_from_db()
    with pytest.raises(Refused, match="has ended"):
        submit(actor=works.manager, project=works.project, seen="", met_by={})
    works.post.delete()
    type(works.project).objects.filter(pk=works.project.pk).update(ends_on="2099-01-01")
    works.project.refresh_from_db()
    with pytest.raises(Refused, match="no posts"):
        submit(actor=works.manager, project=works.project, seen="", met_by={})


@pytest.mark.usefixtures("quick")
@pytest.mark.django_db(transaction=True)
def test_two_managers_at_once(works: Works, monkeypatch: pytest.MonkeyPatch) -> None:
    """One gets the number; the other is told by whom, and may then submit as the next one."""
    other = make_role(Role.Kind.CONTRACTOR, works.contractor)
    statement = works.statement()
    words = {gap.key: "By Friday." for gap in statement.gaps}
    people = [works.manager, other]
    meeting = threading.Barrier(2, timeout=20)

    def together(pdf: bytes, *args: Any, **about: Any) -> bytes:
        meeting.wait()  # both have looked up the last number by now
        return pdf

    monkeypatch.setattr(submittals, "sign", together)

    def work(number: int) -> object:
        try:
            return submit(
                actor=people[number], project=works.project, seen=statement.seen, met_by=words
            ).number
        except Refused as refused:
            return refused.message

    results = at_once(work)
    monkeypatch.setattr(submittals, "sign", lambda pdf, *args, **about: pdf)
    assert results.count(1) == 1
    (told,) = [each for each in results if each != 1]
    assert str(told).startswith("Submittal 1 of this project was made by")
    assert len(stored_files()) == Submittal.objects.count() == 1
    again = submit(actor=other, project=works.project, seen=statement.seen, met_by=words)
    assert again.number == 2


def test_what_is_signed_does_not_depend_on_the_language_of_who_signs(works: Works) -> None:
    statement = statement_now(works.project)
    assert statement.gaps
    with translation.override("es"):
        assert statement_now(works.project).seen == statement.seen
        assert statement_now(works.project).document == statement.document


def test_the_number_of_queries_does_not_grow(works: Works) -> None:
    counts = []
    for more in (0, 2):
        for _ in range(more):
            works.add_mason(valid_until=works.project.ends_on)
        with CaptureQueriesContext(connection) as asked:
            statement_now(works.project)
        counts.append(len(asked))
    assert Record.objects.count() == 3
    assert counts[0] == counts[1]
