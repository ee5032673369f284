"""A coverage kept through changes is the one that is worked out anew from everything."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from certificates.coverage import Able, CoverageError, Outlook, Span, coverage
from tests.certificates.coverage.builders import LAST, START, able, on, post
from tests.certificates.coverage.crews import Case, cases
from tests.faults.marks import examples


@st.composite
def changed(draw: st.DrawFn) -> tuple[Case, list[tuple[str, tuple[Able, ...]]]]:
    """A crew, and for some people what they are able to do from then on."""
    case = draw(cases(most_posts=4))
    found = []
    for _ in range(draw(st.integers(1, 4))):
        person = draw(st.sampled_from(["p0", "p1", "p2", "new"]))
        able = []
        for _ in range(draw(st.integers(0, 3))):
            key = draw(st.sampled_from([one.key for one in case.posts]))
            first, last = sorted((draw(st.integers(-1, 11)), draw(st.integers(-1, 11))))
            able.append(Able(key, person, on(first), draw(st.sampled_from([on(last), None]))))
        found.append((person, tuple(able)))
    return case, found


@given(changed())
@settings(max_examples=examples(200), deadline=None)
def test_after_each_change_it_is_as_worked_out_anew(
    given_: tuple[Case, list[tuple[str, tuple[Able, ...]]]],
) -> None:
    case, changes = given_
    kept = Outlook(case.posts, case.able, first=START, last=LAST)
    able = case.able
    for person, new in changes:
        able = (*(one for one in able if one.person != person), *new)
        assert kept.change(person, new) == coverage(case.posts, able, first=START, last=LAST)


def test_days_after_the_change_are_not_gone_through_again(monkeypatch: pytest.MonkeyPatch) -> None:
    posts = [post("A"), *(post(f"B{n}", first=n, last=n) for n in range(10))]
    crew = [*able("A", "ana"), *(Able(f"B{n}", "tom", START) for n in range(10))]
    kept = Outlook(posts, crew, first=START, last=LAST)
    made: list[date] = []
    whole = Outlook._span

    def noted(self: Outlook, first: date, last: date, before: Span | None) -> Span:
        made.append(first)
        return whole(self, first, last, before)

    monkeypatch.setattr(Outlook, "_span", noted)
    kept.change("kim", [Able("A", "kim", on(3), on(4))])
    assert made == [on(3), on(4), on(5)]


def test_what_is_refused_changes_nothing() -> None:
    kept = Outlook([post("A")], able("A", "ana"), first=START, last=LAST)
    before = kept.coverage
    with pytest.raises(CoverageError, match=r"able\[A, ana\]: Give those of tom"):
        kept.change("tom", able("A", "ana"))
    with pytest.raises(CoverageError, match=r"There is no post"):
        kept.change("ana", able("B", "ana"))
    assert kept.coverage == before == kept.change("ana", able("A", "ana"))
