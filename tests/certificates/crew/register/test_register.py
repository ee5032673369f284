"""The register: which row stands for whom, filters, order, pages and days."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from certificates.queries.covering import covering_of
from certificates.queries.crew import (
    PAGE,
    Asked,
    Row,
    programs_of_crew,
    register_page,
    register_rows,
)
from tests.certificates.crew.builders import (
    ISSUED,
    QUALIFICATION,
    confirm,
    course,
    crew_member,
    decided,
    firm,
    record_for,
    seal,
)
from tests.factories import make_program
from training.models import Organisation, Person, Program

pytestmark = pytest.mark.django_db

DAY = date(2027, 3, 3)


@pytest.fixture
def crew() -> tuple[Organisation, Person]:
    """Return a contractor and its manager."""
    return firm("Fettle & Daughters")


def found(manager: Person, **asked: object) -> list[Row]:
    """Return the rows of the first page."""
    return register_page(manager, Asked(**asked)).rows  # type: ignore[arg-type]


def test_of_one_program_the_record_that_counts_longest_stands(
    crew: tuple[Organisation, Person],
) -> None:
    organisation, manager = crew
    person, program = crew_member(organisation), course(continuity=(6, 30))
    # Valid for longer, but not confirmed any more on the day that is asked about.
    record_for(person, program, issued_at=ISSUED - timedelta(days=900))
    short = record_for(person, program, valid_until=date(2027, 4, 1))
    (row,) = found(manager, at=DAY)
    assert (row.number, row.counts_until) == (short.number, date(2027, 4, 1))
    # On the day after its last one neither counts; the one without a last day stands for both.
    (row,) = found(manager, at=date(2027, 4, 2))
    assert (row.word, row.number != short.number) == ("not_confirmed", True)


def test_versions_of_a_program_are_one_row(crew: tuple[Organisation, Person]) -> None:
    organisation, manager = crew
    person, first = crew_member(organisation), course(code="REPOINT")
    second = make_program(first.provider, code="REPOINT", version=2, title="Repointing anew")
    seal(second, {})
    record_for(person, first, valid_until=date(2026, 12, 1))
    later = record_for(person, second, zone="America/New_York")
    (row,) = found(manager, at=DAY)
    assert (row.number, row.program_version) == (later.number, 2)
    assert programs_of_crew(manager) == [second]
    elsewhere = course(code="REPOINT")
    record_for(person, elsewhere)
    assert [row.program_version for row in found(manager, at=DAY)] == [2, 1]
    assert [row.program_version for row in found(manager, at=DAY, family=elsewhere.pk)] == [1]


def test_the_crew_is_that_of_today_and_the_records_those_of_the_day(
    crew: tuple[Organisation, Person],
) -> None:
    organisation, manager = crew
    program = course()
    gone = crew_member(organisation, "Gone Yesterday", until=timezone.localdate() - timedelta(1))
    new = crew_member(organisation, "New Today", since=timezone.localdate())
    coming = crew_member(organisation, "Coming", since=timezone.localdate() + timedelta(1))
    last = crew_member(organisation, "Last Day", until=timezone.localdate())
    for person in (gone, new, coming, last):
        record_for(person, program)
    for at in (None, date(2026, 11, 10), DAY):
        assert [row.holder for row in found(manager, at=at)] == ["Last Day", "New Today"]
    # Enrolled only now: on the day before the issue they had nothing.
    assert {row.word for row in found(manager, at=date(2026, 11, 9))} == {"nothing"}


def test_a_decision_waits_for_its_record_on_the_day_between(
    crew: tuple[Organisation, Person],
) -> None:
    organisation, manager = crew
    person, program = crew_member(organisation), course()
    decision = decided(person, program, decided_at=datetime(2030, 3, 1, tzinfo=UTC))
    record_for(person, program, decision=decision, issued_at=datetime(2030, 3, 5, 12, tzinfo=UTC))
    words = {day: found(manager, at=date(2030, 3, day))[0].word for day in (4, 5)}
    assert words == {4: "awaits_record", 5: "current"}
    assert found(manager, at=date(2030, 2, 27))[0].word == "no_result"


def test_text_finds_names_and_numbers_and_nothing_by_a_wildcard(
    crew: tuple[Organisation, Person],
) -> None:
    organisation, manager = crew
    program = course()
    first = record_for(crew_member(organisation, "Ilse Vantongeren"), program)
    second = record_for(crew_member(organisation, "Noor 100%_Adriaanse"), program)
    assert [row.holder for row in found(manager, text="vanton")] == ["Ilse Vantongeren"]
    assert [row.number for row in found(manager, text=second.number.lower()[2:])] == [second.number]
    assert [row.number for row in found(manager, text="%_")] == [second.number]
    assert found(manager, text="\\") == []
    # The number of a record that another replaced leads to the one that stands.
    anew = record_for(first.holder, program, replaces=first)
    assert [row.number for row in found(manager, text=first.number)] == [anew.number]


def test_totals_are_of_the_whole_filter_and_let_another_state_be_chosen(
    crew: tuple[Organisation, Person],
) -> None:
    organisation, manager = crew
    program = course()
    for number in range(3):
        until = date(2027, 3, 2) if number else None
        record_for(crew_member(organisation), program, valid_until=until)
    crew_member(organisation, "Bare Hands")
    page = register_page(manager, Asked(at=DAY, word="lapsed"))
    assert page.totals == {"current": 1, "lapsed": 2, "nothing": 1}
    assert (page.count, len(page.rows), page.people) == (2, 2, 4)
    page = register_page(manager, Asked(at=DAY, family=program.pk))
    assert (page.count, len(page.rows), page.totals["nothing"]) == (3, 3, 1)
    empty = register_page(manager, Asked(at=DAY, word="suspended"))
    assert (empty.count, empty.rows, empty.totals["lapsed"]) == (0, [], 2)


def test_each_order_sorts_and_ends_with_who_has_no_such_day(
    crew: tuple[Organisation, Person],
) -> None:
    organisation, manager = crew
    kept, plain = course(code="B-KEPT", continuity=(6, 30)), course(code="A-PLAIN")
    record_for(crew_member(organisation, "Anna"), kept, valid_until=date(2029, 1, 1))
    record_for(crew_member(organisation, "Bert"), plain, valid_until=date(2027, 3, 1))
    later = record_for(crew_member(organisation, "Cato"), kept)
    confirm(later, date(2027, 2, 1))
    crew_member(organisation, "Dirk")

    def names(order: str) -> list[str]:
        return [row.holder for row in found(manager, at=DAY, order=order)]

    assert names("name") == ["Anna", "Bert", "Cato", "Dirk"]
    assert names("program") == ["Bert", "Anna", "Cato", "Dirk"]
    assert names("state") == ["Anna", "Cato", "Bert", "Dirk"]
    assert names("valid_until") == ["Bert", "Anna", "Cato", "Dirk"]
    assert names("confirm_by") == ["Anna", "Cato", "Bert", "Dirk"]


def test_pages_hold_every_row_once_and_a_page_too_far_is_the_last(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    for _ in range(PAGE + 1):
        crew_member(organisation, "Of One Name")
    pages = [register_page(manager, Asked(), number) for number in (1, 2, 99)]
    assert [(page.number, len(page.rows)) for page in pages] == [(1, PAGE), (2, 1), (2, 1)]
    holders = {row.holder_id for page in pages for row in page.rows}
    assert holders == {row.holder_id for row in register_rows(manager, Asked())}
    assert len(holders) == PAGE + 1
    client.force_login(manager)
    for text, shown in (("2", "Page 2 of 2"), ("0", "Page 1 of 2"), ("x", "Page 1 of 2")):
        assert shown in client.get(reverse("crew"), {"page": text}).text
    assert "Page 2 of 2" in client.get(reverse("crew"), {"page": "9" * 30}).text


def covering(program: Program, **need: object) -> tuple[object, ...]:
    """Return the standards that cover a need."""
    return covering_of(program).standards(need)


def test_the_record_has_to_cover_what_is_asked_for(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    program = course()
    record_for(crew_member(organisation, "Up To Faces"), program)
    harder = {**QUALIFICATION, "variables": [dict(row) for row in QUALIFICATION["variables"]]}
    harder["variables"][1]["assessed"] = "soffit"
    seal(program, harder)
    record_for(crew_member(organisation, "Soffits Too"), program)
    crew_member(organisation, "Bare Hands")
    client.force_login(manager)

    def names(**query: str) -> set[str]:
        text = client.get(reverse("crew"), {"program": str(program.pk), **query}).text
        return {name for name in ("Up To Faces", "Soffits Too", "Bare Hands") if name in text}

    assert names() == {"Up To Faces", "Soffits Too"}
    assert names(**{"covers-position": "sill"}) == {"Up To Faces", "Soffits Too"}
    assert names(**{"covers-position": "soffit"}) == {"Soffits Too"}
    assert names(**{"covers-stone": "granite"}) == set()
    # Assessed at 4 in: half to twice of it are covered.
    assert names(**{"covers-depth": "8"}) == {"Up To Faces", "Soffits Too"}
    assert names(**{"covers-depth": "8 1/8"}) == set()
    assert names(**{"covers-depth": "203.2 mm"}) == {"Up To Faces", "Soffits Too"}
    answer = client.get(reverse("crew"), {"program": str(program.pk), "covers-depth": "deep"})
    assert (answer.status_code, "It is left out meanwhile." in answer.text) == (422, True)
    assert 'value="deep"' in answer.text


def test_a_standard_without_rules_covers_nothing_that_is_asked_for(
    crew: tuple[Organisation, Person],
) -> None:
    organisation, manager = crew
    program = course(qualification={})
    record_for(crew_member(organisation), program)
    seal(program, QUALIFICATION)
    assert len(covering(program, stone="limestone")) == 1
    asked = {"family": program.pk, "standards": covering(program, stone="limestone")}
    assert found(manager, **asked) == []
    assert register_page(manager, Asked(**asked)).totals == {}  # type: ignore[arg-type]


def test_the_page_says_which_day_it_shows(
    crew: tuple[Organisation, Person], client: Client
) -> None:
    organisation, manager = crew
    record_for(crew_member(organisation), course(), valid_until=date(2027, 3, 2))
    client.force_login(manager)
    page = client.get(reverse("crew"), {"at": "2027-03-03"}).text
    assert "As at 3 March 2027" in page
    assert "Lapsed" in page
    assert (
        "today’s crew with what their records were"
        in client.get(reverse("crew"), {"at": "2020-01-31"}).text
    )
    for day in ("2027-02-30", "1999-12-31", "2101-01-01", "soon"):
        answer = client.get(reverse("crew"), {"at": day})
        assert answer.status_code == 422
        assert "Today is taken meanwhile" in answer.text


def test_a_leap_day_can_be_asked_about(crew: tuple[Organisation, Person]) -> None:
    organisation, manager = crew
    record = record_for(
        crew_member(organisation),
        course(continuity=(12, 0)),
        issued_at=datetime(2028, 2, 29, 17, tzinfo=UTC),
    )
    (row,) = found(manager, at=date(2028, 2, 29))
    # A year on there is no such day: the last of February (python-dateutil, relativedelta).
    assert (row.number, row.confirm_by) == (record.number, date(2029, 2, 28))
