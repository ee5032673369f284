"""Copying a day: who is placed again, and who is left out with which sentence."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied

from certificates.actions.days import place_people
from certificates.actions.days_copy import copy_day
from certificates.models import DayPlace, Post, StatusChange
from certificates.queries.days import day_before
from tests.certificates.crew.days.builders import TODAY, Tower
from training.errors import Refused
from training.models import Employment, Person

FRIDAY = TODAY
MONDAY = TODAY + timedelta(days=3)


@pytest.fixture
def friday(site: Tower) -> Tower:
    """Return the tower with a list on Friday, all qualified."""
    _place(site, site.a, site.able, leads=True)
    _place(site, site.a, site.other)
    return site


def _place(site: Tower, post: Post, person: Person, *, leads: bool = False) -> None:
    place_people(
        actor=site.manager,
        project=site.project,
        post=post,
        day=FRIDAY,
        people=[person],
        leads=leads,
        knowing=[person.pk],
    )


def left_out(site: Tower, day: date = MONDAY) -> dict[str, str]:
    """Return who is left out and why when Friday is copied to ``day``."""
    copied = copy_day(actor=site.manager, project=site.project, day=day, source=FRIDAY)
    return {f"{each.person} at {each.post.code}": each.why for each in copied.left_out}


def test_monday_is_placed_as_the_friday_before(friday: Tower) -> None:
    assert day_before(friday.project, MONDAY) == FRIDAY
    copied = copy_day(actor=friday.manager, project=friday.project, day=MONDAY, source=FRIDAY)
    assert (copied.placed, list(copied.left_out)) == (2, [])
    rows = DayPlace.objects.filter(day=MONDAY).values_list("person", "post", "leads")
    assert set(rows) == {
        (friday.able.pk, friday.a.pk, True),
        (friday.other.pk, friday.a.pk, False),
    }
    tokens = set(DayPlace.objects.values_list("token", flat=True))
    assert len(tokens) == 4  # a badge of Friday does not hold on Monday


def test_who_has_no_record_that_holds_is_not_copied_without_a_word(friday: Tower) -> None:
    _place(friday, friday.b, friday.hand)
    StatusChange.objects.create(
        record=friday.record,
        number=1,
        change=StatusChange.Change.SUSPENDED,
        reason="The photographs show another wall.",
        by=friday.record.issued_by,
    )
    assert left_out(friday) == {
        "Abelard Rooke at A": "Not qualified for this post: "
        f"Record {friday.record.number} is suspended.",
        "Casimir Thwaite at B": "Not qualified for this post: "
        f"There is no record of {friday.program.title} ({friday.program.code}).",
    }


def test_who_left_and_who_is_elsewhere_is_not_copied(friday: Tower) -> None:
    Employment.objects.filter(person=friday.able).update(until=FRIDAY)
    place_people(
        actor=friday.manager,
        project=friday.project,
        post=friday.b,
        day=MONDAY,
        people=[friday.other],
    )
    assert left_out(friday) == {
        "Abelard Rooke at A": "Not on the crew on this day.",
        "Bettina Okonjo at A": "At post B on this day already.",
    }


def test_a_post_that_is_over_or_has_fewer_places_now_takes_no_more(friday: Tower) -> None:
    _place(friday, friday.b, friday.hand)
    Post.objects.filter(pk=friday.b.pk).update(ends_on=FRIDAY)
    Post.objects.filter(pk=friday.a.pk).update(masons_per_lead=None, lead_program=None)
    friday.a.refresh_from_db()
    assert left_out(friday) == {
        "Abelard Rooke at A": "The post has no place left on this day.",
        "Casimir Thwaite at B": "The post is not worked on this day.",
    }


def test_copying_is_refused_without_a_list_for_the_past_and_to_others(friday: Tower) -> None:
    for day in (FRIDAY, FRIDAY + timedelta(days=1)):
        with pytest.raises(Refused, match="no earlier day with a list"):
            copy_day(actor=friday.manager, project=friday.project, day=day, source=day)
    with pytest.raises(Refused, match="is over"):
        copy_day(
            actor=friday.manager,
            project=friday.project,
            day=FRIDAY - timedelta(days=1),
            source=FRIDAY - timedelta(days=2),
        )
    with pytest.raises(PermissionDenied):
        copy_day(actor=friday.owner, project=friday.project, day=MONDAY, source=FRIDAY)
    assert not DayPlace.objects.filter(day=MONDAY).exists()
