"""What is said of records in English and kept or compared is known where it is shown.

What a program is answered, and what an item of a job keeps, is the same in every language.
"""

from typing import Any
from unittest import mock

import pytest
from django.http import HttpRequest, HttpResponse
from django.utils.translation import get_language, override

from assessments.models import Decision
from certificates.actions.follow_review import VOID
from certificates.actions.issue_item import GIVEN_UP, issue_item
from certificates.actions.issue_run import issue_run
from certificates.checker import NAMES
from certificates.queries.check_file import _other_number
from certificates.sandbox import limits
from certificates.views.answers import in_english
from tests.assessments.builders import make_yard
from tests.certificates.builders import met_decision
from training.errors import Refused
from training.said import unknown


@pytest.mark.parametrize(
    "sentence",
    [
        *NAMES.values(),
        limits.TOO_MANY_PAGES,
        limits.TOO_SLOW,
        GIVEN_UP,
        VOID.format("the test piece had been cut from another stone"),
        _other_number("7K3M-9QX2-04VD-HT8B", "7K3M-9QX2-04VD-HT8C"),
        "Ada Stone neither leads nor teaches this run any longer.",
    ],
)
def test_a_sentence_is_known(sentence: str) -> None:
    assert not unknown(sentence)


def test_a_program_is_answered_in_english() -> None:
    asked: list[str | None] = []

    @in_english
    def view(request: HttpRequest) -> HttpResponse:
        asked.append(get_language())
        return HttpResponse()

    with override("es"):
        view(HttpRequest())
        asked.append(get_language())
    assert asked == ["en", "es"]


def test_an_item_keeps_english(db: None) -> None:
    yard = make_yard()
    met_decision(yard)
    job = issue_run(actor=yard.lead, run=yard.run)

    def refuse(*, actor: Any, decision: Decision) -> None:
        raise Refused(f"asked in {get_language()}")

    with mock.patch("certificates.actions.issue_item.issue_record", refuse), override("es"):
        issue_item(job.items.get().pk)
    assert job.items.get().sentence == "asked in en"
