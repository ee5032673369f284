"""The sentences why somebody may not fill a post, and what would mend it."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from certificates.models import Post, Record, StatusChange
from certificates.queries.closers import Help, help_for
from certificates.queries.project_coverage import coverage_of, why_not
from tests.certificates.crew.builders import (
    ISSUED,
    QUALIFICATION,
    course,
    crew_member,
    decided,
    firm,
    record_for,
)
from tests.certificates.crew.coverage.builders import post_on, project_for, set_clock
from tests.factories import enrol, make_run
from training.models import Person, Program

pytestmark = pytest.mark.django_db
START = date(2027, 3, 1)
RENEWAL = {"before_days": 90, "after_days": 30, "stages": ["set"]}


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let it be a day before the project."""
    set_clock(monkeypatch, datetime(2027, 1, 15, 17, 0, tzinfo=UTC))


@pytest.fixture
def post() -> Post:
    """Return a post that asks for a sill, of a program in version 2."""
    program = course(code="DUTCH", version=2, title="Dutchman repair")
    project = project_for(firm("Ashlar and Sons")[0], starts_on=START)
    return post_on(project, program, conditions={"position": "sill"})


def mason(post: Post, **fields: Any) -> Person:
    """Return somebody on the crew of the post's project."""
    return crew_member(post.project.contractor, **fields)


def why(post: Post, person: Person, on: date = START, **how: bool) -> tuple[str, ...]:
    """Return why the person may not fill the post."""
    return why_not(post, [person.pk], on=on, **how)[person.pk]


def suspend(record: Record) -> None:
    """Suspend the record a few days before today."""
    StatusChange.objects.create(
        record=record,
        number=1,
        change="suspended",
        reason="A complaint is looked into.",
        at=datetime(2027, 1, 12, 12, 0, tzinfo=UTC),
        by=record.issued_by,
    )


def test_who_is_qualified_is_told_nothing(post: Post) -> None:
    person = mason(post)
    record_for(person, post.program)
    assert why(post, person) == ()


def test_no_record_and_no_employment(post: Post) -> None:
    person = mason(post, until=date(2027, 2, 20))
    assert why(post, person) == (
        "Not employed by Ashlar and Sons on 1 March 2027.",
        "There is no record of Dutchman repair (DUTCH).",
    )


def test_an_earlier_version_and_what_is_not_covered(post: Post) -> None:
    post.conditions = {"position": "soffit", "stone": "granite"}
    earlier = course(code="DUTCH", version=1, provider=post.program.provider)
    person = mason(post)
    record = record_for(person, earlier)
    assert why(post, person) == (
        f"Record {record.number} is of version 1 of Dutchman repair; version 2 or a later one is "
        "asked for.",
        "Position: soffit is asked for, the record covers sill and vertical face.",
        "Stone: granite is asked for, the record covers sandstone and limestone.",
    )


def test_of_two_records_the_one_that_lacks_least_is_told(post: Post) -> None:
    earlier = course(code="DUTCH", version=1, provider=post.program.provider, qualification={})
    person = mason(post)
    record_for(person, earlier)
    record = record_for(person, post.program, valid_until=date(2027, 2, 3))
    assert why(post, person) == (f"Record {record.number} is valid until 3 February 2027 only.",)


def test_what_the_rules_do_not_know_is_not_covered(post: Post) -> None:
    post.conditions = {"tools": "power"}
    person = mason(post)
    record_for(person, post.program)
    (text,) = why(post, person)
    assert text.startswith("The record cannot be compared with what is asked:")
    assert "“tools”" in text


def test_a_standard_without_rules_covers_only_posts_without_conditions(post: Post) -> None:
    program = course(code="PLAIN", qualification={})
    post.program = program
    person = mason(post)
    record_for(person, program)
    assert why(post, person) == (
        "The passing standard of the record sets no range of qualification, so that the record "
        "covers only posts without conditions.",
    )


def test_a_past_day_is_judged_by_what_was_known_then(post: Post) -> None:
    person = mason(post)
    record = record_for(person, post.program)
    suspend(record)
    assert why(post, person, date(2027, 1, 11)) == ()
    assert why(post, person, date(2027, 1, 12)) == (f"Record {record.number} is suspended.",)
    assert why(post, person, START) == (f"Record {record.number} is suspended.",)
    assert why(post, person, ISSUED.date() - timedelta(days=1)) == (
        "There is no record of Dutchman repair (DUTCH).",
    )


def test_a_lead_is_asked_for_both_programs(post: Post) -> None:
    post.lead_program, post.masons_per_lead = course(code="LEAD", title="Leading a gang"), 4
    person = mason(post)
    record_for(person, post.program)
    assert why(post, person) == ()
    assert why(post, person, leads=True) == ("There is no record of Leading a gang (LEAD).",)


def test_as_many_queries_for_three_as_for_one(
    post: Post, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    people = [mason(post) for _ in range(3)]
    for person in people:
        record_for(person, post.program)
    fresh = Post.objects.select_related("program", "lead_program", "project__contractor")
    for some in (people[:1], people):
        one = fresh.get(pk=post.pk)
        with django_assert_num_queries(4):  # employments, zones of the sites, records, rules
            why_not(one, [person.pk for person in some], on=START)


def helped(post: Post, on: date = START) -> Help:
    """Return what would close the gap of a day."""
    return help_for(coverage_of(post.project), on)


def missing(post: Post, on: date = START) -> dict[str, str]:
    """Return what each person would take, in the order told."""
    found = coverage_of(post.project)
    return {found.people[int(one.person)]: one.missing for one in help_for(found, on).closings}


def in_grace(post: Post, monkeypatch: pytest.MonkeyPatch) -> Program:
    """Make the post's program one with confirmations and renewal, in April."""
    set_clock(monkeypatch, datetime(2027, 4, 20, 17, 0, tzinfo=UTC))
    rules = {**QUALIFICATION, "renewal": RENEWAL}
    program = course(
        code="DUTCH", version=3, title="Dutchman repair", provider=post.program.provider,
        continuity=(5, 30), qualification=rules,
    )  # fmt: skip
    post.program, post.places = program, 9
    post.starts_on, post.ends_on = date(2027, 4, 1), date(2027, 6, 30)
    post.save()
    project = post.project
    project.starts_on, project.ends_on = post.starts_on, post.ends_on
    project.save()
    return program


def test_all_ways_in_the_order_of_what_they_take(
    post: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = in_grace(post, monkeypatch)
    harder = course(
        code="DUTCH", version=4, provider=program.provider, title="Dutchman repair",
        qualification={**QUALIFICATION, "variables": QUALIFICATION["variables"][:1]},
    )  # fmt: skip
    record_for(mason(post, name="C Confirm"), program)
    decided(mason(post, name="D Decided"), program)
    renews = record_for(mason(post, name="E Renew"), program, valid_until=date(2027, 5, 3))
    suspended = record_for(mason(post, name="F Suspended"), program)
    suspend(suspended)
    further = record_for(mason(post, name="G Further"), harder)
    late = record_for(mason(post, name="H Late"), program, valid_until=date(2027, 3, 1))
    enrol(make_run(program), mason(post, name="I Enrolled"))
    mason(post, name="J Whole")
    found = missing(post, date(2027, 6, 1))
    # Issued on 10 November; five months are 10 April, 30 days after that 10 May: by hand.
    assert list(found.items()) == [
        (
            "C Confirm",
            "Confirmation that the work goes on, the next for work by 10 April 2027, signed by "
            "10 May 2027.",
        ),
        ("D Decided", "Dutchman repair was met; the provider still has to issue the record."),
        (
            "E Renew",
            f"A renewal of record {renews.number}, valid until 3 May 2027, by a shorter attempt "
            "from 2 February 2027 to 2 June 2027.",
        ),
        (
            "F Suspended",
            f"Record {suspended.number} is suspended: its issuer says what restores it.",
        ),
        (
            "G Further",
            f"A further assessment in Dutchman repair; record {further.number} falls short of the "
            "post: The record cannot be compared with what is asked: The rules have no variable "
            "“position”; known: stone.",
        ),
        (
            "H Late",
            f"A new assessment in Dutchman repair; record {late.number} does not count any more.",
        ),
        ("I Enrolled", "Enrolled in Dutchman repair; its passing standard is still to be met."),
        ("J Whole", "The whole program Dutchman repair (DUTCH)."),
    ]


def test_fewer_conditions_come_before_more(post: Post) -> None:
    post.conditions = {"position": "soffit", "stone": "granite"}
    post.save()
    many = mason(post, name="A Two")
    record_for(many, post.program)
    few = mason(post, name="B One")
    rules = {**QUALIFICATION, "variables": [
        {**QUALIFICATION["variables"][0], "assessed": ["granite"]}, QUALIFICATION["variables"][1],
    ]}  # fmt: skip
    later = course(code="DUTCH", version=5, provider=post.program.provider, qualification=rules)
    record_for(few, later)
    assert list(missing(post)) == ["B One", "A Two"]


def test_the_plan_moves_people_and_says_when_it_cannot_close(post: Post) -> None:
    person = mason(post, name="Ilse Vantongeren")
    record_for(person, post.program)
    other = mason(post, name="Noor Adriaanse")
    decided(other, post.program)
    post_on(post.project, course(code="POINT", title="Repointing"), "B", places=2)
    plan = helped(post).plan
    assert (plan.filled_more, plan.unfilled, plan.closes) == (1, 1, False)
    assert [(int(one.person), one.post) for one in plan.steps] == [(other.pk, "B")]


def test_who_is_not_employed_that_day_is_no_help(post: Post) -> None:
    mason(post, until=date(2027, 3, 4))
    assert helped(post, date(2027, 3, 4)).plan.closes
    assert helped(post, date(2027, 3, 5)).closings == []


def test_nothing_is_asked_when_nothing_is_short(
    post: Post, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    record_for(mason(post), post.program)
    found = coverage_of(post.project)
    with django_assert_num_queries(0):
        helped = help_for(found, START)
    assert (helped.closings, helped.plan.steps) == ([], ())
