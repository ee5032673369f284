"""Placing people at posts: what is refused, what the log says, and two managers at once."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from pytest_django import DjangoAssertNumQueries

from certificates.actions.days import place_people, remove_place
from certificates.models import DayPlace
from certificates.queries.days import choices, day_list
from tests.assessments.builders import at_once
from tests.certificates.crew.builders import crew_member, firm, record_for
from tests.certificates.crew.coverage.builders import post_on, project_for
from tests.certificates.crew.days.builders import TODAY, Tower, tower
from training.errors import Refused
from training.models import Employment, LogEntry, Person


def place(site: Tower, *people: Person, **changes: Any) -> list[DayPlace]:
    values: dict[str, Any] = {
        "actor": site.manager,
        "project": site.project,
        "post": site.a,
        "day": TODAY,
        "people": people,
    }
    return place_people(**{**values, **changes})


def test_the_list_of_a_day_has_every_post_with_whom_it_has(site: Tower) -> None:
    place(site, site.able, leads=True)
    place(site, site.other)
    found = day_list(site.project, TODAY)
    assert [row.post for row in found.posts] == [site.a, site.b]
    assert [(str(each.place.person), each.place.leads) for each in found.placed] == [
        ("Abelard Rooke", True),
        ("Bettina Okonjo", False),
    ]
    assert (found.posts[0].free, found.posts[0].free_leads, found.posts[1].free) == (1, 0, 1)
    assert not found.not_qualified
    entry = LogEntry.objects.latest("seq")
    assert (entry.verb, entry.subject_id) == ("day.placed", str(site.project.pk))
    assert entry.data == {
        "day": "2027-01-15",
        "post": "A",
        "leads": False,
        "people": [site.other.pk],
        "not_qualified": [],
    }


def test_who_is_not_qualified_is_placed_only_with_a_tick_and_shown_so(site: Tower) -> None:
    with pytest.raises(Refused, match="Not qualified for this post: Casimir Thwaite") as refused:
        place(site, site.other, site.hand)
    assert refused.value.field == "knowing"
    assert not DayPlace.objects.exists()
    place(site, site.other, site.hand, knowing=[site.hand.pk])
    (shown,) = day_list(site.project, TODAY).not_qualified
    assert shown.place.person == site.hand
    assert shown.reasons == (f"There is no record of {site.program.title} ({site.program.code}).",)
    assert LogEntry.objects.latest("seq").data["not_qualified"] == [site.hand.pk]


def test_leading_asks_for_the_record_of_the_lead_as_well(site: Tower) -> None:
    with pytest.raises(Refused, match="Not qualified for this post: Bettina Okonjo"):
        place(site, site.other, leads=True)
    assert place(site, site.able, leads=True)[0].leads


@pytest.mark.parametrize(
    ("changes", "words", "field"),
    [
        ({"people": []}, "Choose whom to place", "people"),
        ({"day": TODAY - timedelta(days=1)}, "14 January 2027 is over", "day"),
        ({"day": date(2028, 6, 1)}, "Post A is worked from 04 Jan 2027 to 03 Jan 2028", "day"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    site: Tower, changes: dict[str, Any], words: str, field: str
) -> None:
    with pytest.raises(Refused, match=words) as refused:
        place(site, site.able, **changes)
    assert refused.value.field == field


def test_a_post_has_no_more_people_than_places(site: Tower) -> None:
    third = crew_member(site.contractor, "Doro Vance")
    record_for(third, site.program)
    with pytest.raises(Refused, match="has 2 places, 2 of them free on this day: you chose 3"):
        place(site, site.able, site.other, third)
    place(site, site.able, site.other)
    with pytest.raises(Refused, match=r"0 of them free on this day: you chose 1\. Choose nobody"):
        place(site, third)
    with pytest.raises(Refused, match="has 0 places for leads"):
        place(site, third, post=site.b, leads=True)


def test_only_the_crew_of_today_and_of_the_day_is_placed(site: Tower) -> None:
    stranger = crew_member(firm()[0], "Edda Stranger")
    leaves = crew_member(site.contractor, "Finn Leaving", until=TODAY + timedelta(days=1))
    comes = crew_member(site.contractor, "Gesa Coming", since=TODAY + timedelta(days=3))
    record_for(leaves, site.program)
    for person, day in (
        (stranger, TODAY),
        (leaves, TODAY + timedelta(days=2)),
        (comes, TODAY + timedelta(days=5)),
    ):
        with pytest.raises(Refused, match=f"Not on the crew on this day: {person}"):
            place(site, person, day=day, knowing=[person.pk])
    assert place(site, leaves, day=TODAY + timedelta(days=1))


def test_nobody_is_at_two_posts_on_one_day(site: Tower) -> None:
    place(site, site.other)
    with pytest.raises(Refused, match="Bettina Okonjo: At post A on this day already"):
        place(site, site.other, post=site.b)
    elsewhere = project_for(site.contractor, starts_on=date(2027, 1, 1), name="The other tower")
    post = post_on(elsewhere, site.program)
    with pytest.raises(Refused, match="Bettina Okonjo: On another project") as refused:
        place(site, site.other, project=elsewhere, post=post)
    assert site.project.name not in refused.value.message
    assert place(site, site.other, post=site.b, day=TODAY + timedelta(days=1))
    with pytest.raises(IntegrityError, match="day_place_once_a_day"), transaction.atomic():
        DayPlace.objects.create(
            project=site.project, post=site.b, day=TODAY, person=site.other, placed_by=site.manager
        )


def test_a_post_of_another_project_is_not_taken(site: Tower) -> None:
    other = post_on(project_for(site.contractor, starts_on=date(2027, 1, 1)), site.program)
    with pytest.raises(Refused, match="taken off the project"):
        place(site, site.able, post=other)


def test_only_the_contractors_managers_keep_the_list(site: Tower) -> None:
    (row,) = place(site, site.able)
    for actor in (site.owner, site.able, firm()[1]):
        with pytest.raises(PermissionDenied):
            place(site, site.other, actor=actor)
        with pytest.raises(PermissionDenied):
            remove_place(actor=actor, place=row)
    assert DayPlace.objects.get() == row


def test_taking_somebody_off_is_logged_and_past_lists_stay(site: Tower) -> None:
    (row,) = place(site, site.able)
    past = DayPlace.objects.create(
        project=site.project,
        post=site.a,
        day=TODAY - timedelta(days=1),
        person=site.able,
        placed_by=site.manager,
    )
    remove_place(actor=site.manager, place=row)
    entry = LogEntry.objects.latest("seq")
    assert (entry.verb, entry.data["people"]) == ("day.removed", [site.able.pk])
    with pytest.raises(Refused, match="its list stays as it was"):
        remove_place(actor=site.manager, place=past)
    with pytest.raises(Refused, match="was taken off this day already"):
        remove_place(actor=site.manager, place=row)
    assert DayPlace.objects.get() == past


def test_of_somebody_who_left_only_that_is_told(site: Tower) -> None:
    place(site, site.hand, knowing=[site.hand.pk])
    Employment.objects.filter(person=site.hand).update(until=TODAY - timedelta(days=1))
    (shown,) = day_list(site.project, TODAY).not_qualified
    assert shown.reasons == ("No longer on the crew.",)


def test_choices_name_who_is_qualified_and_free_first(site: Tower) -> None:
    place(site, site.able, post=site.b)
    people = [site.able, site.hand, site.other]
    found = choices(site.a, TODAY, leads=False, people=people)
    assert [(str(each.person), each.qualified, each.elsewhere) for each in found] == [
        ("Bettina Okonjo", True, ""),
        ("Casimir Thwaite", False, ""),
        ("Abelard Rooke", True, "At post B on this day already."),
    ]


def test_a_list_takes_as_many_queries_for_three_posts_as_for_one(
    site: Tower, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    place(site, site.other)
    with django_assert_num_queries(6):
        assert len(day_list(site.project, TODAY).placed) == 1
    place(site, site.able, leads=True)
    place(site, site.hand, post=site.b, knowing=[site.hand.pk])
    with django_assert_num_queries(6):
        assert len(day_list(site.project, TODAY).placed) == 3


@pytest.mark.django_db(transaction=True)
def test_of_two_managers_who_place_one_person_at_once_one_is_told() -> None:
    site = tower()
    elsewhere = project_for(site.contractor, starts_on=date(2027, 1, 1))
    there = post_on(elsewhere, site.program)
    told: list[str] = []

    def press(number: int) -> None:
        where = {"project": elsewhere, "post": there} if number else {}
        try:
            place(site, site.other, **where)
        except Refused as refused:
            told.append(f"{refused.field}: {refused.message}")

    at_once(press)
    assert DayPlace.objects.count() == 1
    (sentence,) = told
    assert sentence.startswith("people: ")
    assert "another project" in sentence or "placed elsewhere on this day" in sentence
    assert LogEntry.objects.filter(verb="day.placed").count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_managers_do_not_overfill_a_post() -> None:
    site = tower()
    told: list[str] = []

    def press(number: int) -> None:
        try:
            place(site, (site.able, site.other)[number], post=site.b)
        except Refused as refused:
            told.append(refused.message)

    at_once(press)
    assert DayPlace.objects.count() == 1
    assert told == [
        "Post B has 1 place, 0 of them free on this day: you chose 1. Choose nobody, or change "
        "the post."
    ]
