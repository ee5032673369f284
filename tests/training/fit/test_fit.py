"""From papers to who lacks what: days, papers that follow each other, people, queries."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from tests.training.fit.builders import ask_for, keep
from training.models import CourseRun, HeldDocument, Person, ProgramPrerequisite, Role
from training.queries.fit import fits_on, stand, unfit, unqualified
from training.queries.fit_run import fit_matrix, papers_to_bring

TODAY = date(2026, 11, 3)


def run_with_lead(**fields: Any) -> tuple[CourseRun, Person]:
    provider = make_organisation()
    return make_run(make_program(provider), **fields), make_role(Role.Kind.LEAD, provider)


def paper_of(issued: date, expires: date | None) -> HeldDocument:
    """Return a paper that is in no database, and that nobody took back."""
    paper = HeldDocument(kind="mask", issued_on=issued, expires_on=expires)
    paper._state.fields_cache["taken_back"] = None
    return paper


days = st.dates(date(2026, 1, 1), date(2026, 1, 20))


@settings(max_examples=30)
@given(st.lists(st.tuples(days, st.none() | days), max_size=4), days, days)
def test_standing_agrees_with_counting_the_days_one_by_one(
    drawn: list[tuple[date, date | None]], on: date, until: date
) -> None:
    # The database holds no paper that ends before it begins.
    spans = [(a, b) for a, b in drawn if b is None or a <= b]
    # The other way to work it out: the set of days that each paper covers.
    wanted = ProgramPrerequisite(key="mask", title="Mask", accepts="Card")
    papers = [paper_of(a, b) for a, b in spans]
    covered = {
        a + timedelta(days=n)
        for a, b in spans
        for n in range(((b or date(2026, 3, 1)) - a).days + 1)
    }
    found = stand({(1, 1, "mask"): papers}, 1, 1, wanted, on, until)
    assert found.fits == (on in covered)
    assert (found.state == "lapsing") == (on in covered and max(on, until) not in covered)
    assert (found.document is None) == (not spans)
    assert found.state != "lapsed" or min(a for a, _ in spans) < on


@pytest.mark.parametrize(
    ("issued", "expires", "state"),
    [
        (date(2026, 11, 3), date(2026, 11, 3), "lapsing"),
        (date(2026, 11, 3), date(2026, 11, 6), "held"),
        (date(2026, 1, 1), None, "held"),
        (date(2026, 1, 1), date(2026, 11, 2), "lapsed"),
        (date(2026, 11, 4), None, "later"),
    ],
)
def test_days_on_the_edge(issued: date, expires: date | None, state: str) -> None:
    wanted = ProgramPrerequisite(key="mask", title="Mask", accepts="Card")
    paper = paper_of(issued, expires)
    found = stand({(1, 1, "mask"): [paper]}, 1, 1, wanted, TODAY, date(2026, 11, 6))
    assert found.state == state
    assert found.fits == fits_on(paper, TODAY)


@pytest.mark.django_db
def test_people_and_enrolments_are_asked_alike_in_two_queries(
    django_assert_num_queries: Any,
) -> None:
    run, lead = run_with_lead()
    ask_for(run.program, "mask", accepts="Card")
    ask_for(run.program, "site", applies="course")
    places = [enrol(run, make_person()) for _ in range(3)]
    keep(lead, places[0].person, run.program.provider, "mask")
    with django_assert_num_queries(2):
        assert unfit(places[:1], run.program, TODAY, "practical") == {}
    with django_assert_num_queries(2):
        found = unfit(places, run.program, TODAY, "practical")
    assert set(found) == {each.person_id for each in places[1:]}
    assert [each.key for each in found[places[1].person_id]] == ["mask"]
    assert found[places[1].person_id][0].reason == "Mask: no paper was shown. Bring: Card."
    everything = unfit([place.person for place in places], run.program, TODAY)
    assert [each.key for each in everything[places[1].person_id]] == ["mask", "site"]
    assert [each.key for each in everything[places[0].person_id]] == ["site"]
    bare = make_program(run.program.provider)
    with django_assert_num_queries(1):
        assert unfit(places, bare, TODAY) == {}


@pytest.mark.django_db
def test_the_matrix_of_a_run_takes_three_queries(django_assert_num_queries: Any) -> None:
    run, lead = run_with_lead(starts_on=date(2099, 3, 2), ends_on=date(2099, 3, 6))
    ask_for(run.program, "mask")
    first = enrol(run, make_person("A"))
    provider = run.program.provider
    keep(lead, first.person, provider, "mask", expires_on=date(2099, 3, 4))
    with django_assert_num_queries(3):
        matrix = fit_matrix(run)
    assert (matrix.on, matrix.unfit) == (date(2099, 3, 2), 0)
    assert [each.state for row in matrix.rows for each in row.standings] == ["lapsing"]
    # A second paper takes over the day after: nothing lapses.
    keep(lead, first.person, provider, "mask", issued_on=date(2026, 1, 5), expires_on=None)
    for name in "BC":
        enrol(run, make_person(name))
    gone = enrol(run, make_person("D"))
    gone.state = "withdrawn"
    gone.save()
    with django_assert_num_queries(3):
        matrix = fit_matrix(run)
    states = [each.state for row in matrix.rows for each in row.standings]
    assert (states, matrix.unfit) == (["held", "missing", "missing"], 2)


@pytest.mark.django_db
def test_a_lead_is_told_of_runs_within_two_weeks(django_assert_num_queries: Any) -> None:
    today = date.today()  # noqa: DTZ011 (two weeks, less a day either way)
    run, lead = run_with_lead(
        starts_on=today + timedelta(days=10), ends_on=today + timedelta(days=12), state="planned"
    )
    ask_for(run.program, "mask")
    place = enrol(run, make_person())
    make_run(
        run.program, starts_on=today + timedelta(days=20), ends_on=today + timedelta(days=22)
    ).enrolments.create(person=make_person())
    with django_assert_num_queries(4):
        [todo] = papers_to_bring(lead, frozenset({"lead"}))
    assert "1 trainee has papers missing" in todo.detail
    for _ in range(2):
        more = make_run(run.program, starts_on=today, ends_on=today + timedelta(days=2))
        enrol(more, make_person())
    with django_assert_num_queries(4):
        assert len(list(papers_to_bring(lead, frozenset({"lead"})))) == 3
    keep(lead, place.person, run.program.provider, "mask")
    assert len(list(papers_to_bring(lead, frozenset({"lead"})))) == 2
    assert list(papers_to_bring(lead, frozenset({"instructor"}))) == []


@pytest.mark.django_db
def test_an_instructor_without_a_qualification_that_holds_is_named() -> None:
    provider = make_organisation()
    lead = make_role(Role.Kind.LEAD, provider)
    good, late, none = (make_role(Role.Kind.INSTRUCTOR, provider) for _ in range(3))
    keep(lead, good, provider, "instructor")
    keep(lead, late, provider, "instructor", expires_on=TODAY - timedelta(days=1))
    assert unqualified([good, late, none], provider, TODAY) == [late, none]
    assert unqualified([late], provider, TODAY - timedelta(days=1)) == []
