"""The page of a project's coverage and its file."""

import csv
import re
from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from certificates.models import Project
from tests.certificates.crew.builders import course, crew_member, firm, record_for
from tests.certificates.crew.coverage.builders import (
    manager_of,
    post_on,
    project_for,
    set_clock,
)
from tests.factories import make_organisation, make_person, make_role
from training.models import Person, Program

pytestmark = pytest.mark.django_db
START = date(2027, 3, 1)


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let it be a day before the project."""
    set_clock(monkeypatch, datetime(2027, 1, 15, 17, 0, tzinfo=UTC))


@pytest.fixture
def project(client: Client) -> Project:
    """Return a project without posts, whose manager is signed in."""
    project = project_for(firm()[0], starts_on=START, name="Saint Elmo's tower")
    client.force_login(manager_of(project.contractor))
    return project


def page(client: Client, project: Project, status: int = 200, **query: str) -> str:
    """Return the page as text without tags, one blank between words."""
    response = client.get(reverse("project_coverage", args=[project.pk]), query)
    assert response.status_code == status
    body = response.text.split('<main id="main"')[1].split("</main>")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", body).replace("&#x27;", "'").split())


def mason(
    project: Project, name: str, program: Program, *, valid_until: date | None = None
) -> Person:
    """Return somebody of the crew with a record."""
    person = crew_member(project.contractor, name)
    record_for(person, program, valid_until=valid_until)
    return person


def rows_of(client: Client, project: Project, **query: str) -> list[list[str]]:
    """Return the rows of the file below its title."""
    response = client.get(reverse("project_coverage_csv", args=[project.pk]), query)
    assert response.status_code == 200
    return list(csv.reader(StringIO(response.content.decode("utf-8-sig"))))[1:]


def test_covered_every_day(client: Client, project: Project) -> None:
    program = course()
    mason(project, "Ilse Vantongeren", program)
    post_on(project, program)
    text = page(client, project)
    assert "Covered every day" in text
    assert "Every post can be filled on each of the 30 days looked at." in text
    assert "What cannot be filled" not in text
    assert "What would close the gap" not in text
    assert "Ilse Vantongeren by record" in text


def test_the_first_day_it_breaks_and_why(client: Client, project: Project) -> None:
    program = course()
    mason(project, "Ilse Vantongeren", program)
    record = record_for(
        crew_member(project.contractor, "Noor Adriaanse"), program, valid_until=date(2027, 3, 10)
    )
    post_on(project, program, places=2)
    text = page(client, project)
    assert "Covered for now" in text
    assert "From 11 March 2027 not every post can be filled." in text
    assert (
        f"Noor Adriaanse at post “A, Work A”: Record {record.number} is valid until "
        "10 March 2027 only." in text
    )
    assert (
        "11 Mar 2027 to 30 Mar 2027 Post “A, Work A” needs two masons; only one is qualified for "
        "it: Ilse Vantongeren. Noor Adriaanse at post" in text
    )
    assert "Who fills which post on 11 March 2027" in text
    assert "1 of 2 empty" in text
    assert "This one step would fill every place." in text
    assert "Noor Adriaanse for post “A, Work A”: A new assessment" in text


def test_who_leaves_is_told_as_the_reason(client: Client, project: Project) -> None:
    program = course()
    record_for(crew_member(project.contractor, "Tjaart Ozols", until=date(2027, 3, 9)), program)
    post_on(project, program)
    text = page(client, project)
    assert "Tjaart Ozols at post “A, Work A”: employed until 9 March 2027 only." in text
    assert "Nothing that the crew could do fills the empty place: another mason is needed." in text


def test_no_posts_and_no_crew(client: Client, project: Project) -> None:
    assert "No posts yet" in page(client, project)
    post_on(project, course())
    text = page(client, project)
    assert "Nobody is on the crew today" in text
    assert "Short from the first day" in text
    assert "nobody is qualified for it" in text


def test_confirmations_that_go_on(client: Client, project: Project) -> None:
    program = course(continuity=(3, 20))
    mason(project, "Ilse Vantongeren", program)
    post_on(project, program)
    text = page(client, project)
    # Issued on 10 November; three months and 20 days after: 2 March, worked by hand.
    assert "counts until 2 March 2027 only: no later work is confirmed." in text
    assert (
        "Ilse Vantongeren for post “A, Work A”: Confirmation that the work goes on, the next for "
        "work by 10 February 2027, signed by 2 March 2027." in text
    )
    text = page(client, project, ahead="confirming")
    assert "Covered every day" in text
    assert "as long as everybody's work goes on being confirmed" in text


def test_another_day_to_look_at(client: Client, project: Project) -> None:
    program = course()
    mason(project, "Ilse Vantongeren", program, valid_until=date(2027, 3, 10))
    post_on(project, program)
    assert "Who fills which post on 3 March 2027" in page(client, project, day="2027-03-03")
    assert "from 5 March 2027 to" in page(client, project, at="2027-03-05")
    text = page(client, project, at="2026-11-01")
    assert "As it was known at the end of 1 November 2026." in text
    assert "Short from the first day" in text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"at": "first of May"}, "Write a day as 2027-03-01. The page shows today meanwhile."),
        ({"day": "2027-02-30"}, "Write a day as 2027-03-01."),
        ({"day": "2027-04-01"}, "Write a day from 1 March 2027 to 30 March 2027."),
        ({"ahead": "perhaps"}, "“perhaps” is not in this list"),
    ],
)
def test_what_cannot_be_shown_is_said_at_its_field(
    client: Client, project: Project, query: dict[str, str], said: str
) -> None:
    program = course()
    mason(project, "Ilse Vantongeren", program)
    post_on(project, program)
    text = page(client, project, 422, **query)
    assert text.count(said) == 2  # in the list above and at the field
    assert "Covered every day" in text


def test_the_file_has_who_is_where_when_and_what_is_empty(client: Client, project: Project) -> None:
    program = course()
    first = record_for(
        crew_member(project.contractor, "=Ilse"), program, valid_until=date(2027, 3, 10)
    )
    second = record_for(crew_member(project.contractor, "Noor", until=date(2027, 3, 20)), program)
    post_on(project, program, places=2)
    assert rows_of(client, project) == [
        ["From", "To", "Post", "Title", "Places", "Filled by", "Record", "Counts until"],
        ["2027-03-01", "2027-03-10", "A", "A, Work A", "1", "'=Ilse", first.number, "2027-03-10"],
        ["2027-03-01", "2027-03-20", "A", "A, Work A", "1", "Noor", second.number, ""],
        ["2027-03-11", "2027-03-20", "A", "A, Work A", "1", "Nobody: empty", "", ""],
        ["2027-03-21", "2027-03-30", "A", "A, Work A", "2", "Nobody: empty", "", ""],
    ]
    address = reverse("project_coverage_csv", args=[project.pk])
    refused = client.get(address, {"at": "soon"})
    assert refused.status_code == 422
    assert "Write a day as 2027-03-01." in refused.text


def test_who_may_look(client: Client, project: Project) -> None:
    owner = make_organisation("owner")
    project.owner = owner
    project.save()
    for name in ("project_coverage", "project_coverage_csv"):
        address = reverse(name, args=[project.pk])
        assert client.get(address).status_code == 200
        assert client.post(address).status_code == 405
        client.force_login(make_role("owner", owner))
        assert client.get(address).status_code == 403
        for stranger in (make_person(), firm()[1], make_role("owner", make_organisation("owner"))):
            client.force_login(stranger)
            assert client.get(address).status_code == 404
        client.logout()
        assert client.get(address).status_code == 302
        client.force_login(manager_of(project.contractor))


# Session, person, navigation, project, kept; five of the coverage; standards met, enrolments,
# the rules of those standards.
def test_as_many_queries_for_three_as_for_one(
    client: Client, project: Project, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    program = course()
    mason(project, "Ilse Vantongeren", program)
    post_on(project, program, conditions={"position": "soffit"})
    with django_assert_num_queries(12):
        page(client, project)
    for code, name in (("B", "Noor Adriaanse"), ("C", "Tjaart Ozols")):
        mason(project, name, program)
        post_on(project, program, code, conditions={"position": "soffit"})
    with django_assert_num_queries(12):
        text = page(client, project)
    assert "These three steps would fill every place." in text


def test_a_later_gap_says_whose_record_ended(client: Client, project: Project) -> None:
    """The first gap begins with a post; the second because a record's last day has passed."""
    program, other = course(), course()
    post_on(project, program, "A")
    post_on(project, other, "B", ends_on=START)
    last = date(2027, 3, 20)
    mason(project, "Bo Lind", program, valid_until=last)
    gaps = page(client, project).split("What cannot be filled")[1].split("Day by day")[0]
    assert "1 Mar 2027" in gaps
    later = gaps.split("21 Mar 2027")[1]
    assert "Bo Lind at post" in later
    assert "20 March 2027" in later
