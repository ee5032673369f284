"""The owner's page: what it holds and what it never does, and how many queries it takes."""

from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from certificates.models import DayPlace, Post
from certificates.queries.owner import owner_view
from tests.certificates.crew.builders import course, crew_member, record_for
from tests.certificates.crew.coverage.builders import post_on, set_clock
from tests.certificates.crew.owner.builders import TODAY, Chapel, chapel
from tests.certificates.status.builders import change
from training.models import Person


def page(site: Chapel, person: Person) -> str:
    client = Client()
    client.force_login(person)
    response = client.get(reverse("owner_view", args=[site.project.pk]))
    assert response.status_code == 200
    assert "no-store" in response["Cache-Control"]
    return " ".join(response.content.decode().split())


def test_nothing_submitted_is_told_and_nobody_of_the_crew_is_named(site: Chapel) -> None:
    for person in (site.owner, site.manager):
        text = page(site, person)
        assert "Nothing submitted yet" in text
        assert f"{site.contractor} has submitted nothing for this project yet." in text
        assert "Ana Sorley" not in text


def test_only_people_and_records_of_the_submittal_are_on_it(site: Chapel) -> None:
    spare = crew_member(site.contractor, "Dag Unsubmitted")
    record = record_for(spare, course())
    second = record_for(site.ben, course())  # another record of somebody who is named
    site.submit()
    change(record, "suspended", record.issued_by)
    text = page(site, site.owner)
    for name in ("Ana Sorley", "Ben Achterberg", "Cleo Varnham"):
        assert name in text
    for each in site.records.values():
        assert f'href="{reverse("check_record", args=[each.number])}"' in text
    for secret in ("Dag Unsubmitted", record.number, second.number):
        assert secret not in text
    assert "Nothing: every record named, every holder and every post is as it was" in text


def test_the_latest_submittal_is_the_one_that_counts(site: Chapel) -> None:
    site.submit()
    Post.objects.filter(pk=site.b.pk).delete()
    site.submit(2)
    text = page(site, site.owner)
    assert "Submittal 2 of 15 January 2027, beside 15 January 2027." in text
    assert "Ben Achterberg" not in text


def test_gaps_stand_with_the_contractors_words_and_the_day_with_reasons(site: Chapel) -> None:
    Post.objects.filter(pk=site.b.pk).update(places=2)
    site.submit()
    DayPlace.objects.create(
        project=site.project, post=site.a, day=TODAY, person=site.ben, placed_by=site.manager
    )
    text = page(site, site.owner)
    assert "A mason is assessed in May." in text
    assert "Not qualified for this post" in text
    assert f"There is no record of {site.programs[0].title}" in text
    assert "Take off" not in text
    assert reverse("day_list", args=[site.project.pk]) not in text
    assert reverse("day_list", args=[site.project.pk]) in page(site, site.manager)


@pytest.mark.django_db
def test_today_is_that_of_the_project(monkeypatch: pytest.MonkeyPatch) -> None:
    site = chapel("Pacific/Auckland")
    set_clock(monkeypatch, datetime(2027, 1, 15, 11, 0, tzinfo=UTC))  # midnight there, UTC+13
    assert "Saturday 16 January 2027, in Pacific/Auckland." in page(site, site.owner)


def test_as_many_queries_for_three_posts_and_people_as_for_one(
    site: Chapel, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    site.a.delete()
    site.b.conditions = {"position": "sill"}
    site.b.save()
    one = site.submit()
    DayPlace.objects.create(
        project=site.project, post=site.b, day=site.b.starts_on, person=site.ben,
        placed_by=site.manager,
    )  # fmt: skip
    with django_assert_num_queries(18):
        assert len(owner_view(site.project, one, site.b.starts_on).posts) == 1
    for name in ("C", "D"):
        program = course()
        person = crew_member(site.contractor, f"Mason of {name}")
        record_for(person, program)
        post = post_on(site.project, program, name, conditions={"position": "sill"})
        DayPlace.objects.create(
            project=site.project, post=post, day=site.b.starts_on, person=person,
            placed_by=site.manager,
        )  # fmt: skip
    three = site.submit(2)
    with django_assert_num_queries(18):
        view = owner_view(site.project, three, site.b.starts_on)
    assert len(view.posts) == len(view.day.placed) == 3
