"""What changed since a submittal: each kind of change, its sentence, and what it does to a post."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from assessments.engine.qualification.continuity import DUE_SOON
from certificates.models import DayPlace, Post, Record, Submittal
from certificates.queries.owner import Gap, OwnerView, owner_view
from certificates.queries.standing import SOON
from tests.certificates.crew.builders import confirm, record_for, seal
from tests.certificates.crew.coverage.builders import post_on, set_clock
from tests.certificates.crew.owner.builders import TODAY, VALID_UNTIL, Chapel, later
from tests.certificates.status.builders import change, withdraw
from tests.factories import make_program, make_role
from training.models import Employment

AT = datetime(2027, 1, 15, 4, 30, tzinfo=UTC)  # still the 14th in New York


@pytest.fixture
def submitted(site: Chapel) -> Submittal:
    """Return what was submitted at noon; Ana and Cleo go on being confirmed until August."""
    for name in ("Ana", "Cleo"):
        confirm(site.records[name], date(2027, 1, 10))
    return site.submit()


def look(site: Chapel, submittal: Submittal, on: date = TODAY) -> OwnerView:
    return owner_view(site.project, submittal, on)


def state(view: OwnerView) -> dict[str, tuple[str, str]]:
    return {row.code: (row.now.tone, row.now.word) for row in view.posts}


def sentences(view: OwnerView) -> list[str]:
    return [change.sentence for change in view.changes]


def suspended(record: Record) -> None:
    change(record, "suspended", record.issued_by, at=AT)


def test_as_submitted_everything_is_in_order(site: Chapel, submitted: Submittal) -> None:
    view = look(site, submitted)
    assert view.overall == ("good", "check", "In order")
    assert view.sentence == "Every post is filled as submitted, and nothing speaks against it."
    assert [(row.code, row.then, row.day) for row in view.posts] == [
        ("A", ("good", "check", "Filled"), TODAY),
        ("B", ("good", "check", "Filled"), date(2027, 3, 1)),  # it begins later
    ]
    assert state(view) == {"A": ("good", "Filled"), "B": ("good", "Filled")}
    assert not view.changes
    named = [(each.holder, each.leads, each.number) for row in view.posts for each in row.people]
    assert sorted(named) == sorted(
        [
            ("Ana Sorley", False, site.records["Ana"].number),
            ("Ben Achterberg", False, site.records["Ben"].number),
            ("Cleo Varnham", True, site.records["Cleo"].number),
            ("Cleo Varnham", True, site.records["Cleo leads"].number),
        ]
    )


@pytest.mark.parametrize("word", ["Suspended", "Withdrawn"])
def test_a_record_that_no_longer_holds_empties_its_place(
    site: Chapel, submitted: Submittal, word: str
) -> None:
    record = site.records["Ana"]
    if word == "Suspended":
        suspended(record)
    else:
        withdraw(record, record.issued_by, make_role("lead", record.provider), at=AT)
    view = look(site, submitted)
    assert view.overall.tone == "bad"
    assert view.sentence == "Post A is no longer filled as far as submitted."
    assert state(view) == {"A": ("bad", "1 place not filled"), "B": ("good", "Filled")}
    assert sentences(view) == [
        f"Record {record.number} of Ana Sorley was {word.lower()} on 14 January 2027."
    ]
    assert [each.now.word for each in view.posts[0].people if each.holder == "Ana Sorley"] == [word]


def test_a_lead_needs_both_records(site: Chapel, submitted: Submittal) -> None:
    suspended(site.records["Cleo leads"])
    assert state(look(site, submitted))["A"] == ("bad", "1 place not filled")


def test_what_is_restored_leaves_no_trace(site: Chapel, submitted: Submittal) -> None:
    suspended(site.records["Ana"])
    change(site.records["Ana"], "restored", site.records["Ana"].issued_by, at=AT)
    view = look(site, submitted)
    assert view.overall.tone == "good"
    assert not view.changes


def test_a_corrected_record_stands_in_for_the_one_submitted(
    site: Chapel, submitted: Submittal
) -> None:
    first = site.records["Ben"]
    middle = record_for(site.ben, site.programs[1], replaces=first, issued_at=AT)
    last = record_for(
        site.ben, site.programs[1], replaces=middle, issued_at=AT + timedelta(minutes=1)
    )
    view = look(site, submitted)
    assert view.overall.tone == "good"
    (row,) = view.posts[1].people
    assert (row.number, row.successor, row.counts) == (first.number, last.number, True)
    assert sentences(view) == [
        f"Record {first.number} of Ben Achterberg was replaced by {last.number} on 14 January 2027."
    ]
    suspended(last)
    assert look(site, submitted).overall.tone == "bad"


def test_of_who_left_only_that_is_told(site: Chapel, submitted: Submittal) -> None:
    Employment.objects.filter(person=site.ana).update(until=TODAY - timedelta(days=1))
    suspended(site.records["Ana"])
    view = look(site, submitted)
    assert state(view)["A"] == ("bad", "1 place not filled")
    assert sentences(view) == ["Ana Sorley is no longer on the crew."]
    assert [each.now.word for each in view.posts[0].people if each.holder == "Ana Sorley"] == [
        "No longer on the crew"
    ]


def test_lapsing_is_told_ahead_and_when_it_has_come(
    site: Chapel, monkeypatch: pytest.MonkeyPatch
) -> None:
    Post.objects.filter(pk=site.a.pk).delete()
    site.project.ends_on = date(2028, 6, 30)
    site.project.save()
    Post.objects.filter(pk=site.b.pk).update(ends_on=date(2028, 6, 30))
    submittal, record = site.submit(), f"Record {site.records['Ben'].number} of Ben Achterberg"
    soon, over = VALID_UNTIL - SOON, VALID_UNTIL + timedelta(days=1)
    found = {}
    for day in (soon - timedelta(days=1), soon, VALID_UNTIL, over):
        set_clock(monkeypatch, later((day - TODAY).days))
        view = look(site, submittal, day)
        found[day] = (state(view)["B"], sentences(view))
    told = [f"{record} is valid until 31 December 2027."]
    assert list(found.values()) == [
        (("good", "Filled"), []),
        (("doubt", "Filled, look closer"), told),
        (("doubt", "Filled, look closer"), told),
        (
            ("doubt", "1 place not filled, as submitted"),
            [f"{record} lapsed at the end of 31 December 2027."],
        ),
    ]
    renewed = record_for(site.ben, site.programs[1], issued_at=later(300))
    view = look(site, submittal, over)
    assert state(view)["B"] == ("doubt", "1 place not filled, as submitted")
    assert renewed.number not in str(view.posts)  # nobody submitted it


def test_a_confirmation_that_does_not_come_and_one_that_does(
    site: Chapel, submitted: Submittal, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Six calendar months after work on 10 January, and 30 days of grace (FORMATS.md, continuity).
    due, number = date(2027, 7, 10), site.records["Ana"].number
    found = {}
    for day in (due - DUE_SOON, due + timedelta(days=1), due + timedelta(days=31)):
        set_clock(monkeypatch, later((day - TODAY).days))
        view = look(site, submitted, day)
        (row,) = [each for each in view.posts[0].people if each.holder == "Ana Sorley"]
        found[day] = (state(view)["A"], row.now.word, row.counts)
    assert list(found.values()) == [
        (("doubt", "Filled, look closer"), "Confirmation due", True),
        (("doubt", "Filled, look closer"), "Confirmation overdue, counts in grace", True),
        (("doubt", "2 places not filled, as submitted"), "Not confirmed in time", False),
    ]
    assert (
        f"Record {number} of Ana Sorley no longer counts: no work was confirmed by 10 July 2027."
        in sentences(view)
    )
    told = f"The work of Ana Sorley was confirmed for record {number}; "
    confirm(site.records["Ana"], date(2027, 3, 1))
    view = look(site, submitted, day)
    assert f"{told}the next confirmation is due by 1 September 2027." in sentences(view)
    confirm(site.records["Ana"], date(2027, 7, 1))
    confirm(site.records["Cleo"], date(2027, 7, 1))
    view = look(site, submitted, day)
    assert state(view)["A"] == ("good", "Filled")  # they stand in on days not submitted
    assert f"{told}none more is due before its last day." in sentences(view)


@pytest.mark.parametrize(
    ("fields", "state_of_a", "words"),
    [
        ({"title": "Other work"}, ("doubt", "Filled, look closer"), "title was Work A, is Other"),
        ({"places": 2}, ("bad", "1 place not filled"), "places was 1, is 2."),
        (
            {"ends_on": date(2027, 6, 30)},
            ("doubt", "Filled, look closer"),
            "last day was 29 November 2027, is 30 June 2027.",
        ),
        ({"ends_on": TODAY - timedelta(days=1)}, ("none", "Over"), "is 14 January 2027."),
        (
            {"masons_per_lead": None, "lead_program": None},
            ("doubt", "Filled, look closer"),
            "leads was 1, is 0.",
        ),
        (
            {"conditions": {"position": "soffit"}},
            ("bad", "2 places not filled"),
            "conditions was Position:",
        ),
    ],
)
def test_a_post_that_changed_is_told_and_held_against_the_records(
    site: Chapel,
    submitted: Submittal,
    fields: dict[str, Any],
    state_of_a: tuple[str, str],
    words: str,
) -> None:
    Post.objects.filter(pk=site.a.pk).update(**fields)
    view = look(site, submitted)
    assert state(view)["A"] == state_of_a
    (told,) = [each.sentence for each in view.changes if each.code]
    assert words in told
    assert view.overall.tone == ("bad" if state_of_a[0] == "bad" else "doubt")


def test_a_later_version_asked_for_is_not_what_was_submitted(
    site: Chapel, submitted: Submittal
) -> None:
    program = site.programs[1]
    newer = make_program(program.provider, code=program.code, version=2, title=program.title)
    seal(newer, {})
    Post.objects.filter(pk=site.b.pk).update(program=newer)
    view = look(site, submitted)
    assert state(view)["B"] == ("bad", "1 place not filled")
    (row,) = view.posts[1].people
    assert row.now.word == "Does not cover the post as it is now"
    assert "version 2 or a later one is asked for" in row.why[0]


def test_posts_that_came_and_went_and_days_that_moved(site: Chapel, submitted: Submittal) -> None:
    Post.objects.filter(pk=site.b.pk).delete()
    post_on(site.project, site.programs[1], "C")
    site.project.ends_on = date(2027, 12, 24)
    site.project.save()
    view = look(site, submitted)
    assert state(view) == {"A": ("good", "Filled"), "B": ("none", "No longer on the project")}
    assert view.overall.tone == "doubt"
    assert sentences(view) == [
        "The project ran from 4 January 2027 to 29 November 2027; now it runs from "
        "4 January 2027 to 24 December 2027.",
        "Post C (Work C) is new: no submittal says yet who covers it.",
        "Post B (Work B) was taken off the project.",
    ]


def test_a_gap_that_was_told_is_no_loss(site: Chapel) -> None:
    Post.objects.filter(pk=site.b.pk).update(places=3)
    view = look(site, site.submit())
    assert state(view)["B"] == ("doubt", "2 places not filled, as submitted")
    assert view.posts[1].then == ("doubt", "gap", "2 places not filled")
    assert view.overall.tone == "doubt"
    assert "Post B is not wholly filled, as submitted; nothing was lost." in view.sentence
    assert view.gaps[0] == Gap(
        "Post “B, Work B” needs three masons; only one is qualified for it: Ben Achterberg.",
        "A mason is assessed in May.",
        ((date(2027, 3, 1), date(2027, 11, 29)),),
    )
    suspended(site.records["Ben"])
    assert state(look(site, site.project.submittals.get()))["B"] == ("bad", "3 places not filled")


def test_who_is_placed_without_being_qualified_is_told_on_top(
    site: Chapel, submitted: Submittal
) -> None:
    DayPlace.objects.create(
        project=site.project, post=site.a, day=TODAY, person=site.ben, placed_by=site.manager
    )
    view = look(site, submitted)
    assert view.overall == ("bad", "cross", "Not in order")
    assert view.sentence.endswith(
        "On 15 January 2027 Ben Achterberg is placed without being qualified there."
    )


def test_a_day_of_the_past_is_seen_as_it_was_known_then(
    site: Chapel, submitted: Submittal, monkeypatch: pytest.MonkeyPatch
) -> None:
    change(site.records["Ana"], "suspended", site.records["Ana"].issued_by, at=later(3))
    set_clock(monkeypatch, later(5))
    tones = [look(site, submitted, TODAY + timedelta(days=days)).overall.tone for days in (2, 3, 5)]
    assert tones == ["good", "bad", "bad"]
