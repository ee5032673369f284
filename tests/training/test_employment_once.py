"""Nobody is employed twice on one day: the database refuses it, and the actions end the former."""

from datetime import date, timedelta
from functools import partial

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests.training.yard import Yard
from training.actions.enrolments import enrol_person
from training.actions.people import change_employer
from training.errors import Refused
from training.models import Employment

DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("since", "until"),
    [(date(2026, 5, 1), None), (date(2026, 5, 31), date(2026, 5, 31)), (date(2026, 1, 1), None)],
)
def test_no_day_has_two_employers(yard: Yard, since: date, until: date | None) -> None:
    first = {"since": date(2026, 5, 1), "until": date(2026, 5, 31)}
    Employment.objects.create(person=yard.stranger, organisation=yard.firm, **first)
    with pytest.raises(IntegrityError, match="employment_one_at_a_time"), transaction.atomic():
        Employment.objects.create(
            person=yard.stranger, organisation=yard.other_firm, since=since, until=until
        )


def test_the_day_after_the_last_is_free(yard: Yard) -> None:
    first = {"since": date(2026, 5, 1), "until": date(2026, 5, 31)}
    Employment.objects.create(person=yard.stranger, organisation=yard.firm, **first)
    Employment.objects.create(
        person=yard.stranger, organisation=yard.other_firm, since=date(2026, 6, 1)
    )
    assert yard.stranger.employments.count() == 2


def test_an_employment_with_its_last_day_set_ends_for_the_next(yard: Yard) -> None:
    today = timezone.localdate()
    yard.trainee.employments.update(since=today - 40 * DAY, until=today + 30 * DAY)
    change_employer(
        actor=yard.lead, person=yard.trainee, employer=yard.other_firm, since=today - DAY
    )
    former, later = yard.trainee.employments.order_by("since")
    assert (former.until, later.since, later.until) == (today - 2 * DAY, today - DAY, None)


def test_who_leaves_in_a_month_is_still_employed_when_enrolled(yard: Yard) -> None:
    today = timezone.localdate()
    Employment.objects.create(
        person=yard.stranger, organisation=yard.firm, since=today - DAY, until=today + 30 * DAY
    )
    stranger = yard.stranger
    enrol = partial(
        enrol_person,
        actor=yard.lead,
        run=yard.run,
        full_name=stranger.full_name,
        email=stranger.email,
    )
    with pytest.raises(Refused, match="known to work for"):
        enrol(employer=yard.other_firm)
    enrol(employer=yard.firm)
    assert stranger.employments.count() == 1
