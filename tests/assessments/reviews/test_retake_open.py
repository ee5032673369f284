"""A review and a retake never work on the same attempt at once, and neither is lost by it."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.decisions import sign_off
from assessments.actions.retakes import start_retake
from assessments.actions.reviews import ask_review, take_back_review
from assessments.models import Attempt, Retake
from assessments.queries.attempts import current_decision
from assessments.queries.reviews.carried import Carrying, carrying, kept_open
from assessments.queries.reviews.terms import term_of
from tests.assessments.builders import Yard, make_yard
from tests.assessments.retakes.builders import RULE, SEEN, days_ago, decided
from tests.triggers import lifted
from training.errors import Refused

TERM = {"ask_within_days": 10, "answer_within_days": 20}


def failed() -> tuple[Yard, Attempt]:
    """Return a yard with both rules, and an attempt of 7 days ago that left one stage open."""
    yard = make_yard(about={"retake": RULE, "review": TERM})
    return yard, days_ago(decided(yard), 7)


def again(yard: Yard, attempt: Attempt, *, whole: bool = False) -> Attempt:
    stands = "" if whole else SEEN
    return start_retake(actor=yard.instructor, attempt=attempt, whole=whole, stands=stands)


def close(yard: Yard, attempt: Attempt) -> None:
    sign_off(actor=yard.instructor, attempt=attempt, password_checked=True, note="Rain.")


@pytest.mark.django_db
def test_no_retake_while_a_review_is_under_way_and_one_after() -> None:
    yard, first = failed()
    review = ask_review(actor=yard.trainee, attempt=first, reason="The joint.")
    for whole in (True, False):
        with pytest.raises(Refused, match="under review"):
            again(yard, first, whole=whole)
    take_back_review(actor=yard.trainee, review=review)
    assert again(yard, first).number == 2


@pytest.mark.django_db
def test_no_review_while_a_retake_stands_on_the_work_and_one_after(client: Client) -> None:
    yard, first = failed()
    second = again(yard, first)
    with pytest.raises(Refused, match="Attempt 2 is being made and stands on work of this one"):
        ask_review(actor=yard.trainee, attempt=first, reason="The joint.")
    client.force_login(yard.trainee)
    shown = client.get(reverse("attempt", args=[first.pk])).text
    assert "the days until then are not counted" in shown
    assert reverse("review_ask", args=[first.pk]) not in shown
    # The instructor can always close it as it stands.
    close(yard, second)
    assert ask_review(actor=yard.trainee, attempt=first, reason="The joint.").state == "asked"


@pytest.mark.django_db
def test_a_whole_retake_stands_on_nothing() -> None:
    yard, first = failed()
    again(yard, first, whole=True)
    assert ask_review(actor=yard.trainee, attempt=first, reason="The joint.").state == "asked"


@pytest.mark.django_db
def test_work_carried_on_twice_is_still_that_of_the_first() -> None:
    yard, first = failed()
    second = again(yard, first)
    close(yard, second)
    decision = current_decision(second)
    assert decision is not None
    third = again(yard, days_ago(decision, 7))
    assert [each.number for each in carrying(first)] == [2, 3]
    assert [each.number for each in carrying(second)] == [third.number]
    with pytest.raises(Refused, match="Attempt 3 is being made"):
        ask_review(actor=yard.trainee, attempt=first, reason="The joint.")


@pytest.mark.django_db
def test_the_term_waits_for_the_retake() -> None:
    yard, first = failed()
    second = again(yard, first)
    with lifted("assessments_retake"):
        # As if it had begun two days ago.
        made_at = Retake.objects.get().made_at - timedelta(days=2)
        Retake.objects.update(made_at=made_at)
    close(yard, second)
    decision = first.decisions.get()
    until = term_of(first, decision, []).ask_until
    assert until is not None
    assert term_of(first, decision).ask_until == until + timedelta(days=2)


MARCH = {day: date(2026, 3, day) for day in range(1, 32)}


@pytest.mark.parametrize(
    ("retakes", "today", "last"),
    [
        ([], 20, 13),
        # Begun on the 3rd, decided on the 5th: two days are not counted.
        ([(3, 5)], 20, 15),
        # Begun after the last day.
        ([(14, 16)], 20, 13),
        # Two after another: 2 and 3 days; the second within the term as moved by the first.
        ([(3, 5), (15, 18)], 20, 18),
        # Clocks that were set back take no day away.
        ([(5, 3)], 20, 13),
        # Still open on the 20th, begun on the 10th: the three days that were left are left.
        ([(10, None)], 20, 23),
    ],
)
def test_days_by_hand(retakes: list[tuple[int, int | None]], today: int, last: int) -> None:
    rows = [
        Carrying(number, MARCH[began], MARCH[ended] if ended else None)
        for number, (began, ended) in enumerate(retakes, 2)
    ]
    assert kept_open(MARCH[13], rows, MARCH[today]) == MARCH[last]
