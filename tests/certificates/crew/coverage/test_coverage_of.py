"""What a project's coverage takes from the database: records, ranges, employment, days."""

from datetime import UTC, date, datetime, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from certificates.models import Project, StatusChange
from certificates.queries.project_coverage import ProjectCoverage, coverage_of
from tests.certificates.crew.builders import (
    ISSUED,
    confirm,
    course,
    crew_member,
    firm,
    record_for,
    seal,
)
from tests.certificates.crew.coverage.builders import post_on, project_for, set_clock
from training.models import Employment, Organisation, Program

pytestmark = pytest.mark.django_db
START = date(2027, 3, 1)


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let it be a day in winter, after the records were issued and before the projects."""
    set_clock(monkeypatch, datetime(2027, 1, 15, 17, 0, tzinfo=UTC))


@pytest.fixture
def contractor() -> Organisation:
    """Return a contractor with a manager and nobody else."""
    return firm()[0]


def filled(found: ProjectCoverage) -> dict[date, int]:
    """Return how many places are filled from the first day of each span on."""
    return {span.first: span.filled for span in found.coverage.spans}


def breaks(project: Project, *, confirming: bool = False) -> date | None:
    """Return the first day that is not covered."""
    broken = coverage_of(project, confirming=confirming).coverage.breaks
    return broken.day if broken else None


def test_a_record_of_the_program_fills_its_post(contractor: Organisation) -> None:
    person, program = crew_member(contractor, "Ilse Vantongeren"), course()
    record = record_for(person, program)
    project = project_for(contractor, starts_on=START)
    post = post_on(project, program)
    found = coverage_of(project)
    assert found.posts == [post]
    assert found.people == {person.pk: "Ilse Vantongeren"}
    assert found.held["A", person.pk].number == record.number
    assert dict(found.held).keys() == {("A", person.pk)}
    assert len(found.held) == 1
    (span,) = found.coverage.spans
    assert (span.first, span.last) == (START, START + timedelta(days=29))
    assert span.assigned == {"A": (str(person.pk),)}
    assert found.coverage.breaks is None


def test_each_person_fills_one_place_at_a_time(contractor: Organisation) -> None:
    person, program = crew_member(contractor, "Ilse Vantongeren"), course()
    record_for(person, program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program, "A")
    post_on(project, program, "B")
    (span,) = coverage_of(project).coverage.spans
    assert (span.places, span.filled) == (2, 1)
    assert span.gaps[0].sentence == (
        "Posts “A, Work A” and “B, Work B” need two masons; only one is qualified for either: "
        "Ilse Vantongeren."
    )


def test_a_later_version_serves_and_an_earlier_or_another_providers_does_not(
    contractor: Organisation,
) -> None:
    program = course(code="DUTCH", version=2)
    later = course(code="DUTCH", version=3, provider=program.provider)
    earlier = course(code="DUTCH", version=1, provider=program.provider)
    elsewhere = course(code="DUTCH", version=4)
    people = {one: crew_member(contractor) for one in (program, later, earlier, elsewhere)}
    for each, person in people.items():
        record_for(person, each)
    project = project_for(contractor, starts_on=START)
    post_on(project, program, places=4)
    (span,) = coverage_of(project).coverage.spans
    assert set(span.assigned["A"]) == {str(people[program].pk), str(people[later].pk)}


@pytest.mark.parametrize(
    ("conditions", "covered"),
    [
        ({"position": "sill"}, True),
        ({"position": ["sill", "vertical face"]}, True),
        ({"position": "soffit"}, False),
        ({"stone": "granite"}, False),
        ({"depth": {"from": "2", "to": "8", "unit": "in"}}, True),
        ({"depth": {"from": "50", "to": "210", "unit": "mm"}}, False),
        ({"tools": "power"}, False),  # the rules of the record do not know it
        ({"position": "sill", "stone": "granite"}, False),
    ],
)
def test_the_range_has_to_cover_the_conditions(
    contractor: Organisation, conditions: dict[str, object], covered: bool
) -> None:
    program = course()
    record_for(crew_member(contractor), program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program, conditions=conditions)
    assert (breaks(project) is None) == covered


def test_a_standard_without_rules_serves_posts_without_conditions_alone(
    contractor: Organisation,
) -> None:
    program = course(qualification={})
    record_for(crew_member(contractor), program)
    project = project_for(contractor, starts_on=START)
    post = post_on(project, program)
    assert breaks(project) is None
    post.conditions = {"position": "sill"}
    post.save()
    assert breaks(project) == START


def test_of_two_standards_each_is_judged_by_its_own_rules(contractor: Organisation) -> None:
    program = course()
    first = crew_member(contractor)
    record_for(first, program)
    rules = {"basis": "The author", "variables": [
        {"key": "position", "title": "Position", "kind": "ordered", "source": "The author",
         "values": ["sill", "vertical face", "soffit"], "assessed": "soffit"},
    ]}  # fmt: skip
    seal(program, rules)
    second = crew_member(contractor)
    record_for(second, program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program, places=2, conditions={"position": "soffit"})
    (span,) = coverage_of(project).coverage.spans
    assert span.assigned == {"A": (str(second.pk),)}


def test_a_lead_needs_both_programs_and_comes_on_top(contractor: Organisation) -> None:
    work, leading = course(), course()
    both, worker, leader = (crew_member(contractor) for _ in range(3))
    record_for(both, work)
    record_for(worker, work)
    lead_record = record_for(both, leading)
    record_for(leader, leading)
    project = project_for(contractor, starts_on=START)
    post_on(project, work, places=2, lead=leading, masons_per_lead=4)
    found = coverage_of(project)
    (span,) = found.coverage.spans
    assert (span.places, span.filled) == (3, 2)
    able = {(one.post, one.person) for one in found.facts.able}
    assert able == {("A", str(both.pk)), ("A", str(worker.pk)), ("A/lead", str(both.pk))}
    assert found.held["A/lead", both.pk].number == lead_record.number
    assert ("A/lead", leader.pk) not in found.held


def test_a_lead_counts_only_while_both_records_do(contractor: Organisation) -> None:
    work, leading = course(), course()
    person = crew_member(contractor)
    record_for(person, work, valid_until=date(2027, 3, 20))
    record_for(person, leading, valid_until=date(2027, 3, 10))
    record_for(crew_member(contractor), work)
    project = project_for(contractor, starts_on=START)
    post_on(project, work, lead=leading)
    assert filled(coverage_of(project)) == {START: 2, date(2027, 3, 11): 1}


def test_the_last_day_of_a_record_still_counts(contractor: Organisation) -> None:
    program = course()
    record_for(crew_member(contractor), program, valid_until=date(2027, 3, 10))
    project = project_for(contractor, starts_on=START)
    post_on(project, program)
    assert breaks(project) == date(2027, 3, 11)


def test_who_has_a_second_record_goes_on_after_the_first(contractor: Organisation) -> None:
    program = course()
    person = crew_member(contractor)
    record_for(person, program, valid_until=date(2027, 3, 10))
    second = record_for(person, program, valid_until=date(2027, 12, 31))
    project = project_for(contractor, starts_on=START)
    post_on(project, program)
    found = coverage_of(project)
    assert found.coverage.breaks is None
    assert found.held["A", person.pk].number == second.number


def test_without_confirmations_a_record_ends_with_its_grace(contractor: Organisation) -> None:
    # Issued on 10 November 2026; six months and 30 days after: 9 June 2027, worked by hand.
    program = course(continuity=(6, 30))
    record = record_for(crew_member(contractor), program, valid_until=date(2028, 11, 10))
    project = project_for(contractor, starts_on=date(2027, 6, 1))
    post_on(project, program)
    assert breaks(project) == date(2027, 6, 10)
    assert breaks(project, confirming=True) is None
    confirm(record, date(2027, 1, 10))
    # 10 January and six months, and 30 days: 9 August.
    assert breaks(project) is None


def test_a_record_that_stopped_counting_does_not_come_back_by_confirming(
    contractor: Organisation,
) -> None:
    program = course(continuity=(1, 5))
    record_for(crew_member(contractor), program, valid_until=date(2028, 11, 10))
    project = project_for(contractor, starts_on=START)
    post_on(project, program)
    assert breaks(project) == breaks(project, confirming=True) == START


def test_suspended_today_counts_nowhere_in_the_future(contractor: Organisation) -> None:
    program = course()
    record = record_for(crew_member(contractor), program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program)
    assert breaks(project) is None
    StatusChange.objects.create(
        record=record, number=1, change="suspended", reason="A complaint is looked into.",
        at=datetime(2027, 1, 12, 12, 0, tzinfo=UTC), by=record.issued_by,
    )  # fmt: skip
    assert breaks(project) == breaks(project, confirming=True) == START
    # What was known before the suspension.
    assert coverage_of(project, known=date(2027, 1, 11)).coverage.breaks is None


def test_a_mason_who_leaves_fills_the_last_day(contractor: Organisation) -> None:
    program = course()
    record_for(crew_member(contractor, until=date(2027, 3, 15)), program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program)
    assert filled(coverage_of(project)) == {START: 1, date(2027, 3, 16): 0}


def test_only_who_is_employed_today_is_looked_at(contractor: Organisation) -> None:
    program = course()
    gone = crew_member(contractor, until=date(2027, 1, 14))
    to_come = crew_member(contractor, since=date(2027, 2, 1))
    elsewhere = crew_member(firm()[0])
    for person in (gone, to_come, elsewhere):
        record_for(person, program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program)
    found = coverage_of(project)
    assert (found.people, found.coverage.spans[0].filled) == ({}, 0)
    past = coverage_of(project, at=date(2027, 1, 10))
    assert past.people == {}


def test_who_leaves_and_comes_back_is_away_meanwhile(contractor: Organisation) -> None:
    program = course()
    person = crew_member(contractor, until=date(2027, 3, 4))
    Employment.objects.create(person=person, organisation=contractor, since=date(2027, 3, 9))
    record_for(person, program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program)
    assert filled(coverage_of(project)) == {START: 1, date(2027, 3, 5): 0, date(2027, 3, 9): 1}


def test_days_before_today_are_not_looked_at(contractor: Organisation) -> None:
    program = course()
    record_for(crew_member(contractor), program)
    project = project_for(contractor, starts_on=date(2027, 1, 5))
    post_on(project, program)
    assert coverage_of(project).coverage.first == date(2027, 1, 15)
    assert coverage_of(project, at=date(2027, 1, 7)).coverage.first == date(2027, 1, 7)
    assert coverage_of(project, at=date(2027, 2, 1)).coverage.first == date(2027, 2, 1)
    assert coverage_of(project, at=date(2020, 2, 1)).coverage.first == date(2027, 1, 5)
    assert coverage_of(project, at=date(2030, 2, 1)).coverage.first == date(2027, 2, 3)


def test_a_past_day_knows_no_later_record(contractor: Organisation) -> None:
    program = course()
    record_for(crew_member(contractor), program)
    project = project_for(contractor, starts_on=date(2026, 10, 1), days=200)
    post_on(project, program)
    assert breaks(project) is None
    past = coverage_of(project, at=ISSUED.date() - timedelta(days=1))
    assert {span.filled for span in past.coverage.spans} == {0}


def test_without_posts_or_crew_nothing_fails(contractor: Organisation) -> None:
    project = project_for(contractor, starts_on=START)
    assert coverage_of(project).coverage.breaks is None
    post_on(project, course())
    assert breaks(project) == START


@pytest.mark.parametrize(
    ("now", "zone", "first"),
    [
        # Half past four in the afternoon of the 15th in New York, half past ten the 16th in
        # Auckland (UTC+13 in January, IANA time zone database, from memory).
        (datetime(2027, 1, 15, 21, 30, tzinfo=UTC), "America/New_York", date(2027, 1, 15)),
        (datetime(2027, 1, 15, 21, 30, tzinfo=UTC), "Pacific/Auckland", date(2027, 1, 16)),
        # The clocks of London went forward on 28 March 2027, at 01:00 UTC (from memory).
        (datetime(2027, 3, 28, 22, 59, tzinfo=UTC), "Europe/London", date(2027, 3, 28)),
        (datetime(2027, 3, 28, 23, 0, tzinfo=UTC), "Europe/London", date(2027, 3, 29)),
        # A leap day.
        (datetime(2028, 2, 29, 12, 0, tzinfo=UTC), "Europe/London", date(2028, 2, 29)),
    ],
)
def test_today_is_the_day_where_the_project_is(
    contractor: Organisation,
    monkeypatch: pytest.MonkeyPatch,
    now: datetime,
    zone: str,
    first: date,
) -> None:
    set_clock(monkeypatch, now)
    project = project_for(contractor, starts_on=date(2027, 1, 1), days=800, zone=zone)
    assert coverage_of(project).coverage.first == first


def test_a_chain_that_ends_on_a_leap_day(
    contractor: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 31 August 2027 and six months is 29 February 2028, and no grace: worked by hand.
    program = course(continuity=(6, 0))
    set_clock(monkeypatch, datetime(2027, 9, 30, 12, 0, tzinfo=UTC))
    record_for(crew_member(contractor), program, issued_at=datetime(2027, 8, 31, 12, 0, tzinfo=UTC))
    project = project_for(contractor, starts_on=date(2028, 2, 1))
    post_on(project, program)
    assert breaks(project) == date(2028, 3, 1)


def _three(contractor: Organisation, program: Program, lead: Program, project: Project) -> None:
    for code in "BC":
        post_on(project, program, code, conditions={"position": "sill"}, lead=lead)
        person = crew_member(contractor)
        record_for(person, program)
        record_for(person, lead)


def test_as_many_queries_for_three_as_for_one(
    contractor: Organisation, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    program, lead = course(), course()
    record_for(crew_member(contractor), program)
    project = project_for(contractor, starts_on=START)
    post_on(project, program, conditions={"position": "sill"})
    # Posts, employments, zones of the sites, records, rules.
    with django_assert_num_queries(5):
        coverage_of(project)
    _three(contractor, program, lead, project)
    with django_assert_num_queries(5):
        found = coverage_of(project)
    assert len(found.coverage.posts) == 5
