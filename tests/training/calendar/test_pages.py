"""The calendar's pages: nothing entered is lost, errors stand at their field."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from tests.training.calendar.planning import at, bay, module, planned, signed_in
from tests.training.yard import Yard
from training.models import CourseRun, Place, Session, Site

pytestmark = pytest.mark.django_db


def filled(**fields: Any) -> dict[str, Any]:
    """Return a form for a session on 3 November from eight to ten."""
    return {"title": "Pins", "day": "2026-11-03", "starts": "08:00", "ends": "10:00", **fields}


def errors(client: Client, url: str, data: dict[str, Any]) -> dict[str, list[str]]:
    """Return the errors by field of a form that is refused, all that was written still there."""
    answer = client.post(url, data)
    assert answer.status_code == 422
    form = answer.context["form"]
    assert {name: form[name].value() for name in data if name in ("title", "starts", "day")} == {
        name: data[name] for name in data if name in ("title", "starts", "day")
    }
    return dict(form.errors)


@pytest.fixture
def lead(yard: Yard) -> Client:
    """Return a client of the lead."""
    return signed_in(yard.lead)


@pytest.fixture
def new(yard: Yard) -> str:
    """Return the address at which a session is added."""
    return reverse("session_new", args=[yard.run.pk])


def test_a_session_is_planned_in_the_sites_hours(yard: Yard, lead: Client, new: str) -> None:
    part, place = module(yard), bay(yard)
    data = filled(title="", module=part.pk, place=place.pk, instructors=[yard.teacher.pk])
    answer = lead.post(new, data, follow=True)
    assert "“Part 1” is planned." in answer.text
    session = Session.objects.get()
    assert (session.starts_at, session.ends_at) == (at(3, 8), at(3, 10))
    assert session.teaching.get().person == yard.teacher
    for text in ("08:00 to 10:00", "Planned in full", "Bay 3", "Nobody was invited yet."):
        assert text in answer.text


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"ends": "07:00"}, "ends", "The end is not after the start"),
        ({"day": "2026-11-07"}, "day", "The run lasts from 02 Nov 2026"),
        ({"day": "soon"}, "day", "year-month-day"),
        ({"starts": "25:00"}, "starts", "hours:minutes"),
        ({"starts": ""}, "starts", "Write an hour"),
        ({"title": ""}, "title", "Write a title, or choose a module."),
        ({"place": "99999"}, "place", "Choose one from the list."),
        ({"module": "x"}, "module", "Choose one from the list."),
        ({"instructors": ["77777"]}, "instructors", "Choose one from the list."),
    ],
)
def test_what_is_wrong_is_said_at_its_field(
    yard: Yard, lead: Client, new: str, fields: dict[str, Any], field: str, words: str
) -> None:
    found = errors(lead, new, filled(**fields))
    assert list(found) == [field]
    assert words in found[field][0]
    assert Session.objects.count() == 0


def test_hours_that_clocks_skip_or_repeat_are_said(yard: Yard, lead: Client, new: str) -> None:
    # America/New_York, 1 November 2026: 01:00 to 01:59 come twice (tests/.../test_site_time.py).
    CourseRun.objects.filter(pk=yard.run.pk).update(starts_on="2026-03-01")
    twice = filled(day="2026-11-01", starts="01:30", ends="03:00")
    assert "comes twice" in errors(lead, new, twice)["starts"][0]
    skipped = filled(day="2026-03-07", starts="22:00", ends="02:30", next_day="on")
    assert "There is no 02:30 on 08 Mar 2026" in errors(lead, new, skipped)["ends"][0]
    # Six hours by the clocks from ten in the evening are five on that night.
    lead.post(new, filled(day="2026-03-07", starts="22:00", ends="04:00", next_day="on"))
    session = Session.objects.get()
    assert (session.ends_at - session.starts_at).total_seconds() == 5 * 3600


def test_a_clash_is_said_at_the_place(yard: Yard, lead: Client, new: str) -> None:
    place = bay(yard)
    planned(yard, place=place)
    found = errors(lead, new, filled(place=place.pk, title="Grout"))
    assert "Bay 3 is taken by “Pins”" in found["place"][0]


def test_a_session_is_changed_copied_and_cancelled(yard: Yard, lead: Client) -> None:
    session = planned(yard, starts_at=at(3, 22), ends_at=at(4, 1), place=bay(yard))
    edit = reverse("session_edit", args=[session.pk])
    form = lead.get(edit).context["form"]
    assert form["next_day"].value() is True
    shown = {name: form[name].value() or "" for name in ("title", "module", "place")}
    data = {**filled(), **shown, "starts": "22:30", "ends": "01:00", "next_day": "on"}
    assert "is saved." in lead.post(edit, data, follow=True).text
    copy = reverse("session_copy", args=[session.pk])
    assert lead.post(copy, {}).status_code == 422
    answer = lead.post(copy, {"days": ["2026-11-02", "2026-11-05"]}, follow=True)
    assert "2 sessions are planned." in answer.text
    starts = list(Session.objects.values_list("starts_at", flat=True))
    assert starts == [at(day, 22, 30) for day in (2, 3, 5)]
    refused = lead.post(copy, {"days": ["2026-11-04", "2026-11-05"]})
    assert refused.status_code == 422
    assert "5 Nov 2026: Bay 3 is taken" in refused.context["form"].errors["days"][0]
    assert Session.objects.count() == 3
    last = lead.post(copy, {"days": ["2026-11-06"]})
    assert "end before its last day is over" in last.context["form"].errors["days"][0]
    cancel = reverse("session_cancel", args=[session.pk])
    assert "Cancel this session?" in lead.get(cancel).text
    assert "Cancelled" in lead.post(cancel, follow=True).text
    assert "cancelled" in lead.post(cancel, follow=True).text
    assert Session.objects.get(pk=session.pk).state == "cancelled"


def test_publishing_is_a_key_and_says_what_it_did(yard: Yard, lead: Client) -> None:
    publish = reverse("calendar_publish", args=[yard.run.pk])
    assert "There is nothing to publish yet" in lead.post(publish, follow=True).text
    planned(yard)
    assert "1 session is sent to everybody" in lead.post(publish, follow=True).text
    page = lead.get(reverse("run_calendar", args=[yard.run.pk])).text
    assert "Publish and invite" not in page


def test_a_place_that_is_too_small_is_told(yard: Yard, lead: Client) -> None:
    small = bay(yard, capacity=1)
    planned(yard, place=small)
    page = reverse("run_calendar", args=[yard.run.pk])
    assert "Teach in groups" not in lead.get(page).text
    Place.objects.filter(pk=small.pk).update(capacity=None)
    yard.run.enrolments.create(person=yard.stranger)
    assert "Teach in groups" not in lead.get(page).text
    Place.objects.filter(pk=small.pk).update(capacity=1)
    assert "Bay 3 holds 1, and 2 are enrolled." in lead.get(page).text


def test_places_are_added_and_changed(yard: Yard, lead: Client) -> None:
    site: Site = yard.run.site
    new = reverse("place_new", args=[site.pk])
    data = {"kind": "bay", "name": "Bay 3", "grid": "C4", "capacity": "4"}
    assert "Bay 3 is added." in lead.post(new, data, follow=True).text
    twice = lead.post(new, {**data, "name": "BAY 3"})
    assert "has a place called BAY 3 already" in twice.context["form"].errors["name"][0]
    for wrong in ("0", "-1", "four", "99999"):
        answer = lead.post(new, {**data, "name": "Loft", "capacity": wrong})
        assert list(answer.context["form"].errors) == ["capacity"]
    edit = reverse("place_edit", args=[Place.objects.get().pk])
    lead.post(edit, {**data, "grid": "D5", "capacity": ""})
    place = Place.objects.get()
    assert (place.grid, place.capacity) == ("D5", None)
    assert "Not counted" in lead.get(reverse("place_list", args=[site.pk])).text


def test_who_may_read_and_who_may_write(yard: Yard) -> None:
    session, place = planned(yard), bay(yard)
    run, site = yard.run.pk, yard.run.site_id
    reads = [reverse("run_calendar", args=[run]), reverse("place_list", args=[site])]
    writes = [
        reverse("session_new", args=[run]),
        reverse("sessions_propose", args=[run]),
        reverse("session_edit", args=[session.pk]),
        reverse("session_copy", args=[session.pk]),
        reverse("session_cancel", args=[session.pk]),
        reverse("run_capacity", args=[run]),
        reverse("place_new", args=[site]),
        reverse("place_edit", args=[place.pk]),
    ]
    for person, read, write in (
        (yard.lead, 200, 200),
        (yard.teacher, 200, 403),
        (yard.trainee, 404, 404),
        (yard.other_teacher, 404, 404),
        (yard.stranger, 404, 404),
    ):
        client = signed_in(person)
        assert [client.get(url).status_code for url in reads] == [read] * len(reads)
        assert [client.get(url).status_code for url in writes] == [write] * len(writes)
    teacher = signed_in(yard.teacher)
    for name, pk, status in (
        ("calendar_publish", run, 403),
        ("session_cancel", session.pk, 403),
        ("waiting_first", yard.enrolment.pk, 403),
    ):
        assert teacher.post(reverse(name, args=[pk])).status_code == status


def test_the_calendar_asks_as_often_for_three_as_for_one(
    yard: Yard, lead: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    page = reverse("run_calendar", args=[yard.run.pk])
    for number in (1, 3):
        while (count := yard.run.sessions.count()) < number:
            place, part = bay(yard, f"Bay {count}"), module(yard, count + 1)
            people = () if count else (yard.teacher,)
            planned(yard, 3 + count, place=place, module=part, instructors=people)
        # Session and person of the request, run, sessions, who teaches, enrolments, whether the
        # reader leads, modules, whether published, navigation.
        with django_assert_num_queries(10):
            assert len(lead.get(page).context["sessions"]) == number
