"""Two assessors on one trainee: where they differ, side by side on the page of the result."""

import pytest
from django.urls import reverse

from tests.assessments.builders import ONE_ASSESSOR, Yard, make_yard, readings, score_all
from tests.assessments.site.events import signed_in
from tests.factories import make_role
from training.models import Person, Role

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    rule = {**ONE_ASSESSOR, "assessors": {"required": 2, "combine": "agreement"}}
    return make_yard(pass_rule=rule)


@pytest.fixture
def second(yard: Yard) -> Person:
    person = make_role(Role.Kind.INSTRUCTOR, yard.provider, "Zelda Ashgrove")
    yard.run.instructors.add(person)
    return person


def section(yard: Yard, attempt: object) -> str:
    page = signed_in(yard.instructor).get(reverse("attempt_decide", args=[attempt.pk]))  # type: ignore[attr-defined]
    return page.content.decode().partition('id="differences"')[2].partition("</section>")[0]


def test_one_assessor_alone_differs_from_nobody(yard: Yard) -> None:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    assert section(yard, attempt) == ""


def test_only_what_differs_is_shown_with_both_findings(yard: Yard, second: Person) -> None:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    # C2 is measured a little otherwise, and met all the same: no difference.
    near = readings(('9/64"', "9/64", "in"), ("1/8 in", "1/8", "in"))
    score_all(attempt, second, fit=None, C1={"level": 0}, C2=near, C4={"count": 3})
    shown = section(yard, attempt)
    assert "on 2 of 5 criteria" in shown
    for title in ("Criterion C1", "Criterion C4"):
        assert title in shown
    for title in ("Criterion C2", "Criterion C3", "Criterion C5"):
        assert title not in shown
    row = shown.partition("Criterion C1")[2].partition("</tr>")[0]
    own, other = (f'data-label="{each.full_name}"' for each in (yard.instructor, second))
    assert "Joint full and even" in row.partition(own)[2].partition("</td>")[0]
    assert "Open joint" in row.partition(other)[2].partition("</td>")[0]


def test_agreement_is_said(yard: Yard, second: Person) -> None:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    score_all(attempt, second, fit=None)
    assert "Nowhere:" in section(yard, attempt)
    assert "all 5 criteria" in section(yard, attempt)
