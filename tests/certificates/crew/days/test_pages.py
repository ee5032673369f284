"""The pages of a day: what they show, who gets them, and what they keep when something is wrong."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from certificates.actions.days import place_people
from certificates.models import DayPlace
from tests.certificates.crew.builders import firm
from tests.certificates.crew.days.builders import TODAY, Tower
from training.models import Person


def as_(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def page_of(response: object) -> str:
    return " ".join(response.content.decode().split())  # type: ignore[attr-defined]


@pytest.fixture
def placed(site: Tower) -> DayPlace:
    """Return the place of ``hand``, who is not qualified."""
    (row,) = place_people(
        actor=site.manager,
        project=site.project,
        post=site.a,
        day=TODAY,
        people=[site.hand],
        knowing=[site.hand.pk],
    )
    return row


def test_the_list_shows_today_where_the_project_is_with_reasons(
    site: Tower, placed: DayPlace
) -> None:
    page = page_of(as_(site.manager).get(reverse("day_list", args=[site.project.pk])))
    assert "Friday 15 January 2027: who is at which post" in page
    assert "1 of 1 is placed without being qualified" in page
    assert f"There is no record of {site.program.title} ({site.program.code})." in page
    assert "Local codes and the judgement of a licensed professional come first." in page
    assert "1 of 2 places taken, 0 of 1 place for leads" in page


def test_a_day_that_is_none_is_told_at_the_field_and_today_is_shown(site: Tower) -> None:
    url = reverse("day_list", args=[site.project.pk])
    for text in ("2027-02-30", "", "tomorrow"):
        response = as_(site.manager).get(url, {"day": text})
        assert response.status_code == 422
        assert response.context["form"].errors["day"]
        assert response.context["list"].day == TODAY
    for edge in ("0001-01-01", "9999-12-31"):
        assert as_(site.manager).get(url, {"day": edge}).status_code == 200


def test_a_past_day_can_be_read_and_offers_nothing_to_do(site: Tower, placed: DayPlace) -> None:
    DayPlace.objects.update(day=TODAY - timedelta(days=1))
    response = as_(site.manager).get(
        reverse("day_list", args=[site.project.pk]), {"day": "2027-01-14"}
    )
    page = page_of(response)
    assert "its list stays as it was" in page
    assert "Casimir Thwaite" in page
    assert "Take off" not in page
    assert "Place masons" not in page


def test_who_may_do_what(site: Tower, placed: DayPlace) -> None:
    project, post = site.project.pk, site.a.pk
    stranger = firm()[1]
    # name, method, arguments: statuses for the manager, the owner's side, a stranger
    rows: list[tuple[str, str, list[Any], tuple[int, int, int]]] = [
        ("day_list", "get", [project], (200, 403, 404)),
        ("day_place", "get", [project, post], (200, 403, 404)),
        ("badge_sheet", "get", [project], (200, 403, 404)),
        ("owner_view", "get", [project], (200, 200, 404)),
        ("day_copy", "post", [project], (302, 403, 404)),
        ("day_remove", "post", [placed.pk], (302, 403, 404)),
    ]
    for name, method, arguments, expected in rows:
        url = reverse(name, args=arguments)
        found = [
            getattr(as_(person), method)(url).status_code
            for person in (stranger, site.owner, site.manager)
        ]
        assert tuple(reversed(found)) == expected, name
        assert getattr(Client(), method)(url).status_code == 302, name  # to the sign-in page
        assert as_(site.hand).get(reverse("day_list", args=[project])).status_code == 404
    assert not DayPlace.objects.exists()  # the manager's own press took it off


def test_placing_by_the_page(site: Tower) -> None:
    url = reverse("day_place", args=[site.project.pk, site.a.pk]) + "?day=2027-01-18"
    page = page_of(as_(site.manager).get(url))
    assert page.index("Abelard Rooke") < page.index("Bettina Okonjo") < page.index("Casimir")
    assert page.count('name="knowing"') == 1
    answer = as_(site.manager).post(url, {"people": [site.able.pk, site.other.pk]})
    assert answer.status_code == 302
    assert answer["Location"].endswith("?day=2027-01-18")
    assert DayPlace.objects.filter(day=TODAY + timedelta(days=3), post=site.a).count() == 2


def test_what_was_ticked_stays_when_it_is_refused(site: Tower) -> None:
    url = reverse("day_place", args=[site.project.pk, site.a.pk])
    sent = {"people": [site.able.pk, site.hand.pk]}
    response = as_(site.manager).post(f"{url}?name=Bettina", sent)
    assert response.status_code == 422
    assert "tick in the row of each" in response.context["form"].errors["knowing"][0]
    page = page_of(response)
    for person in (site.able, site.hand):
        assert f'value="{person.pk}" id="id_people_{person.pk}" checked' in page
    response = as_(site.manager).post(url, {**sent, "knowing": [site.hand.pk]})
    assert response.status_code == 302
    assert DayPlace.objects.count() == 2


@pytest.mark.parametrize(
    ("name", "count"), [("bettina", 1), ("\0", 3), ("nobody of that name", 0), (" rooke ", 1)]
)
def test_a_search_by_name_finds_part_of_it(site: Tower, name: str, count: int) -> None:
    url = reverse("day_place", args=[site.project.pk, site.a.pk])
    response = as_(site.manager).get(url, {"name": name})
    assert len(response.context["rows"]) == count
    assert ("Nobody of that name" in page_of(response)) == (count == 0)


@pytest.mark.parametrize(
    "sent", [{}, {"people": ["x"]}, {"people": ["99999999"]}, {"people": ["9" * 40]}]
)
def test_what_is_no_choice_is_told_at_the_field(site: Tower, sent: dict[str, list[str]]) -> None:
    url = reverse("day_place", args=[site.project.pk, site.a.pk])
    response = as_(site.manager).post(url, sent)
    assert response.status_code == 422
    assert response.context["form"].errors["people"]
    assert not DayPlace.objects.exists()


def test_copying_by_the_page_names_who_was_left_out(site: Tower, placed: DayPlace) -> None:
    url = reverse("day_copy", args=[site.project.pk])
    response = as_(site.manager).post(f"{url}?day=2027-01-18", follow=True)
    page = page_of(response)
    assert "0 people placed as on Friday 15 January 2027." in page
    assert "Not placed: Casimir Thwaite at A. Not qualified for this post" in page
