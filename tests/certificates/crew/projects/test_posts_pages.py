"""The pages on which posts are described."""

import re
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from certificates.models import Post
from tests.assessments.builders import make_standard
from tests.certificates.crew.projects.works import RULES, Works
from tests.factories import make_organisation, make_program

GOOD = {
    "code": "N-1",
    "title": "Dutchmen, north parapet",
    "work": "From the lower scaffold.",
    "places": "3",
    "starts_on": "2027-03-08",
    "ends_on": "2027-04-30",
    "c.position": ["soffit", "sill"],
    "c.depth.from": "1 1/2",
    "c.depth.to": "6",
    "c.depth.unit": "in",
}


def sent(works: Works, **changes: Any) -> dict[str, Any]:
    """Return what the form sends for ``works.program``."""
    pk = str(works.program.pk)
    return {"program": pk, "shown": pk, **GOOD, **changes}


@pytest.fixture
def browser(client: Client, works: Works) -> Client:
    """Return a client signed in as the contractor's manager."""
    client.force_login(works.manager)
    return client


def errors(response: Any) -> dict[str, list[str]]:
    """Return the errors of the form on the page."""
    assert response.status_code == 422
    return {name: list(found) for name, found in response.context["form"].errors.items()}


def test_the_program_is_chosen_first_and_says_what_it_asks(browser: Client, works: Works) -> None:
    address = reverse("post_new", args=[works.project.pk])
    first = browser.get(address)
    assert "DUTCH: Dutchman repair, version 1" in first.content.decode()
    assert 'name="code"' not in first.content.decode()
    page = browser.get(address, {"program": str(works.program.pk)}).content.decode()
    for words in ("Position", "vertical face", "Depth of the piece", "Leave both empty"):
        assert words in page
    plain = browser.get(address, {"program": str(works.plain.pk)}).content.decode()
    assert "has no rules about what its record covers" in plain
    assert browser.get(address, {"program": "x"}).status_code == 422


def test_only_the_latest_sealed_version_is_offered(browser: Client, works: Works) -> None:
    later = make_program(works.program.provider, code="DUTCH", version=2)
    make_program(works.program.provider, code="DRAFT")
    address = reverse("post_new", args=[works.project.pk])
    page = browser.get(address).content.decode()
    assert (page.count("DUTCH:"), page.count("DRAFT:")) == (1, 0)
    assert "version 2" not in page
    make_standard(later, about={"qualification": RULES})
    page = browser.get(address).content.decode()
    assert page.count("DUTCH:") == 1
    assert "version 2" in page


def test_a_post_is_added(browser: Client, works: Works) -> None:
    answer = browser.post(reverse("post_new", args=[works.project.pk]), sent(works))
    assert answer.status_code == 302
    post = Post.objects.get()
    assert post.conditions == {
        "position": ["sill", "soffit"],
        "depth": {"from": "1.5", "to": "6", "unit": "in"},
    }
    assert (post.position, post.places, post.leads) == (1, 3, 0)
    assert (post.starts_on, post.ends_on) == (date(2027, 3, 8), date(2027, 4, 30))
    page = browser.get(answer["Location"]).content.decode()
    assert "Sill and soffit." in page
    assert "1 1/2 in to 6 in." in page
    assert "Not asked: Stone." in page


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"code": ""}, "code", "Write a short code"),
        ({"code": "N 1"}, "code", "no spaces"),
        ({"code": "N/lead"}, "code", "letters, digits"),
        ({"title": " "}, "title", "Write what the post is called"),
        ({"title": "a\u202eb"}, "title", "invisible character (U+202E)"),
        ({"places": "0"}, "places", "greater than or equal to 1"),
        ({"places": "two"}, "places", "whole number"),
        ({"starts_on": "8 March"}, "starts_on", "year-month-day"),
        ({"starts_on": "2027-02-28"}, "starts_on", "runs from 2027-03-01 to 2027-06-30"),
        ({"ends_on": "2027-07-01"}, "ends_on", "runs from 2027-03-01 to 2027-06-30"),
        ({"ends_on": "2027-03-07"}, "ends_on", "before the first"),
        ({"masons_per_lead": "4"}, "lead_program", "Choose the program that a lead holds"),
        ({"c.position": ["roof"]}, "c.position", "roof is not one of the available choices"),
        ({"c.depth.from": "1,5"}, "c.depth.from", "with a point instead of a comma"),
        ({"c.depth.from": "0"}, "c.depth.from", "above 0"),
        ({"c.depth.from": "9"}, "c.depth.to", "not below"),
        ({"c.depth.unit": ""}, "c.depth.unit", "Choose the unit"),
        ({"c.depth.unit": "kg"}, "c.depth.unit", "kg is not one of the available choices"),
    ],
)
def test_each_fault_is_told_at_its_field_and_nothing_typed_is_lost(
    browser: Client, works: Works, changes: dict[str, Any], field: str, words: str
) -> None:
    answer = browser.post(reverse("post_new", args=[works.project.pk]), sent(works, **changes))
    found = errors(answer)
    assert list(found) == [field]
    assert words in found[field][0]
    assert not Post.objects.exists()
    page = answer.content.decode()
    assert "From the lower scaffold." in page
    for name, typed in changes.items():
        if isinstance(typed, str) and typed.strip():
            assert f'name="{name}"' in page
            assert name == "c.depth.unit" or typed in page


def test_faults_of_several_fields_are_told_at_once(browser: Client, works: Works) -> None:
    changes = {"code": "N 1", "title": "", "places": "", "c.depth.from": "9"}
    answer = browser.post(reverse("post_new", args=[works.project.pk]), sent(works, **changes))
    assert set(errors(answer)) == {"code", "title", "places", "c.depth.to"}
    assert "Nothing was saved yet. Mend this first:" in answer.content.decode()


def test_a_lead_needs_both_its_number_and_its_program(browser: Client, works: Works) -> None:
    address = reverse("post_new", args=[works.project.pk])
    alone = browser.post(address, sent(works, lead_program=str(works.plain.pk)))
    assert "for how many masons" in errors(alone)["masons_per_lead"][0]
    both = {"lead_program": str(works.plain.pk), "masons_per_lead": "2"}
    assert browser.post(address, sent(works, **both)).status_code == 302
    assert Post.objects.get().leads == 2
    page = browser.get(reverse("project", args=[works.project.pk])).content.decode()
    assert re.search(r"2 leads, one for up to 2 masons.*POINT, version 1", page, re.DOTALL)


def test_a_code_stands_once_in_a_project(browser: Client, works: Works) -> None:
    works.post(code="n-1")
    answer = browser.post(reverse("post_new", args=[works.project.pk]), sent(works))
    assert "has a post N-1 already" in errors(answer)["code"][0]


def test_another_program_keeps_what_was_typed(browser: Client, works: Works) -> None:
    address = reverse("post_new", args=[works.project.pk])
    other = str(works.plain.pk)
    asked = browser.post(address, sent(works, program=other, choose="yes"))
    assert asked.status_code == 200
    page = asked.content.decode()
    assert "From the lower scaffold." in page
    assert "position: soffit, sill" in page  # it does not ask that: said, not dropped
    # Sent without asking for the conditions first: nothing is saved under unseen conditions.
    unseen = browser.post(address, sent(works, program=other))
    assert unseen.status_code == 422
    assert "those of the program that you chose" in unseen.content.decode()
    assert not Post.objects.exists()


def test_a_program_without_a_seal_is_refused(browser: Client, works: Works) -> None:
    draft = str(make_program(make_organisation(), code="DRAFT").pk)
    answer = browser.post(
        reverse("post_new", args=[works.project.pk]),
        {**GOOD, "program": draft, "shown": draft},
    )
    assert "No passing standard" in errors(answer)["program"][0]


def edit(browser: Client, post: Post) -> tuple[str, dict[str, Any]]:
    """Return the address and the values of the form as it is opened."""
    address = reverse("post_edit", args=[post.pk])
    page = browser.get(address)
    form = page.context["form"]
    values = {field.html_name: field.value() for field in form}
    return address, {
        "seen": page.context["seen"],
        **{name: value for name, value in values.items() if value not in (None, "")},
    }


def test_a_post_is_changed(browser: Client, works: Works) -> None:
    conditions = {"depth": {"to": "38.1", "unit": "mm"}, "title": ["lime | stone"]}
    post = works.post(conditions=conditions, lead_program=works.plain, masons_per_lead=2)
    address, values = edit(browser, post)
    assert browser.post(address, values).status_code == 302
    same = Post.objects.get()
    assert same.conditions == conditions  # opened and saved: the same
    assert (same.lead_program, same.masons_per_lead) == (works.plain, 2)
    assert browser.post(address, {**values, "places": "5"}).status_code == 302
    assert Post.objects.get().places == 5


def test_the_slower_of_two_learns_what_is_different_and_may_save_again(
    browser: Client, works: Works
) -> None:
    post = works.post()
    address, values = edit(browser, post)
    assert browser.post(address, {**values, "places": "7"}).status_code == 302
    late = browser.post(address, {**values, "title": "Sills, north"})
    assert late.status_code == 422
    told = [(e.field, e.before, e.after) for e in late.context["differences"]]
    assert told == [("places", "3", "7")]
    page = late.content.decode()
    assert "What is different now" in page
    assert "Sills, north" in page  # what the slower one wrote is still there
    assert Post.objects.get().places == 7
    again = {**values, "title": "Sills, north", "seen": late.context["seen"]}
    assert browser.post(address, again).status_code == 302
    saved = Post.objects.get()
    assert (saved.title, saved.places) == ("Sills, north", 3)


def test_a_forged_state_is_never_the_current_one(browser: Client, works: Works) -> None:
    post = works.post()
    address, values = edit(browser, post)
    answer = browser.post(address, {**values, "seen": "e30:forged"})
    assert answer.status_code == 422
    assert answer.context["differences"]


def test_conditions_that_a_newer_standard_does_not_know_are_told(
    browser: Client, works: Works
) -> None:
    post = works.post(conditions={"position": ["soffit"], "height": ["12 m"]})
    page = browser.get(reverse("project", args=[works.project.pk])).content.decode()
    assert "The newest passing standard does not know this" in page
    opened = browser.get(reverse("post_edit", args=[post.pk]))
    assert opened.context["form"].lost == ["height: 12 m"]
    assert "Not taken over." in opened.content.decode()


def test_the_number_of_queries_does_not_grow_with_the_posts(browser: Client, works: Works) -> None:
    address = reverse("project", args=[works.project.pk])
    counts = []
    for codes in (["A"], ["B", "C"]):
        for code in codes:
            works.post(
                code=code,
                conditions={"position": ["sill"]},
                lead_program=works.plain,
                masons_per_lead=1,
            )
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert browser.get(address).status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]
