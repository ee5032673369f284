"""What a contractor's manager sees of the crew: who met what, and what the page tells of it."""

from dataclasses import dataclass
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from certificates.queries.crew import Asked, Row, register_page
from certificates.queries.standing import SOON
from tests.assessments.builders import Yard, make_yard
from tests.certificates.builders import decide_attempt, met_decision, record_row
from tests.factories import enrol, make_organisation, make_person, make_role
from training.models import Employment, Organisation, Person


@dataclass(frozen=True)
class Firm:
    """A contractor with its manager, whose only worker is the trainee of ``yard``."""

    organisation: Organisation
    manager: Person
    yard: Yard


@pytest.fixture
def firm(db: None) -> Firm:
    """Return a firm with a crew of one."""
    yard, organisation = make_yard(), make_organisation("contractor")
    hire(organisation, yard.trainee)
    return Firm(organisation, make_role("contractor", organisation), yard)


def hire(organisation: Organisation, person: Person) -> None:
    """Employ somebody since last year."""
    since = timezone.localdate() - timedelta(days=300)
    Employment.objects.create(person=person, organisation=organisation, since=since)


def another(firm: Firm, name: str) -> Yard:
    """Return a yard of another provider whose trainee works for the firm, too."""
    yard = make_yard()
    Person.objects.filter(pk=yard.trainee.pk).update(full_name=name)
    hire(firm.organisation, yard.trainee)
    return yard


def rows(firm: Firm) -> list[Row]:
    """Return the rows of the whole register."""
    return register_page(firm.manager, Asked()).rows


def words(firm: Firm) -> list[str]:
    """Return the word of each row."""
    return [row.word for row in rows(firm)]


def in_days(number: int) -> date:
    """Return the day so many days from now at the site of the yard."""
    return timezone.localdate() + timedelta(days=number)


def test_an_employer_learns_nothing_of_an_open_attempt(firm: Firm) -> None:
    assert words(firm) == ["no_result"]
    firm.yard.attempt()
    assert words(firm) == ["no_result"]


def test_met_waits_for_its_record(firm: Firm) -> None:
    decision = met_decision(firm.yard)
    assert decision.result == "met"
    assert words(firm) == ["awaits_record"]
    record = record_row(decision)
    (row,) = rows(firm)
    assert (row.word, row.record_id, row.number) == ("current", record.pk, record.number)


def test_not_yet_met_then_met_is_met(firm: Firm) -> None:
    bad = decide_attempt(firm.yard.attempt(), firm.yard.instructor, C3={"answer": False})
    assert bad.result == "not_yet_met"
    assert words(firm) == ["not_yet_met"]
    met = met_decision(firm.yard)
    assert words(firm) == ["awaits_record"]
    record_row(met)
    assert words(firm) == ["current"]


@pytest.mark.parametrize(
    ("last_day", "word"),
    [
        (-1, "lapsed"),
        (0, "lapses_soon"),
        (SOON.days, "lapses_soon"),
        (SOON.days + 1, "current"),
        (None, "current"),
    ],
)
def test_the_last_day_still_counts(firm: Firm, last_day: int | None, word: str) -> None:
    until = None if last_day is None else in_days(last_day)
    record_row(met_decision(firm.yard), valid_until=until)
    assert words(firm) == [word]


def test_a_decision_made_anew_withdraws_the_record(firm: Firm) -> None:
    first = met_decision(firm.yard)
    record = record_row(first)
    decide_attempt(first.attempt, firm.yard.instructor, replaces=first, C3={"answer": False})
    (row,) = rows(firm)
    assert (row.word, row.number, row.counts) == ("withdrawn", record.number, False)


def test_of_two_records_the_one_that_serves_longest_is_shown(firm: Firm) -> None:
    yard = firm.yard
    record_row(met_decision(yard), valid_until=in_days(10))
    later = record_row(
        decide_attempt(yard.attempt(), yard.instructor), valid_until=in_days(700), serial=7
    )
    assert [row.number for row in rows(firm)] == [later.number]


def test_whoever_withdrew_before_any_result_has_no_row(firm: Firm) -> None:
    firm.yard.enrolment.state = "withdrawn"
    firm.yard.enrolment.save()
    assert words(firm) == ["nothing"]


def test_whoever_withdrew_after_a_result_keeps_the_row(firm: Firm) -> None:
    record_row(met_decision(firm.yard))
    firm.yard.enrolment.state = "withdrawn"
    firm.yard.enrolment.save()
    assert words(firm) == ["current"]


# Session, person, navigation; contractors, programs, the crew, zones, the register, feeds.
QUERIES = 9


def test_the_page_asks_the_database_as_often_for_three_as_for_one(
    firm: Firm, client: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    record_row(met_decision(firm.yard))
    client.force_login(firm.manager)
    with django_assert_num_queries(QUERIES):
        assert client.get(reverse("crew")).text.count('<th scope="row">') == 1
    for name in ("Ilse Vantongeren", "Noor Adriaanse"):
        record_row(met_decision(another(firm, name)))
    with django_assert_num_queries(QUERIES):
        assert client.get(reverse("crew")).text.count('<th scope="row">') == 3


def test_filters_keep_the_rows_asked_for(firm: Firm, client: Client) -> None:
    record_row(met_decision(firm.yard), valid_until=in_days(-3))
    other = another(firm, "Ilse Vantongeren")
    bare = make_person("Tjaart Ozoliņš")
    hire(firm.organisation, bare)
    client.force_login(firm.manager)

    def shown(**query: str) -> set[str]:
        text = client.get(reverse("crew"), query).text
        names = {firm.yard.trainee.full_name, "Ilse Vantongeren", "Tjaart Ozoliņš"}
        return {name for name in names if name in text}

    mine, program = firm.yard.trainee.full_name, str(other.program.pk)
    assert shown() == {mine, "Ilse Vantongeren", "Tjaart Ozoliņš"}
    assert shown(program="", standing="") == shown()
    assert shown(standing="lapsed") == {mine}
    assert shown(standing="no_result") == {"Ilse Vantongeren"}
    assert shown(standing="nothing") == {"Tjaart Ozoliņš"}
    assert shown(program=program) == {"Ilse Vantongeren"}
    assert shown(program=program, standing="nothing") == {mine, "Tjaart Ozoliņš"}
    assert "Nobody stands so" in client.get(reverse("crew"), {"standing": "withdrawn"}).text


def test_a_choice_that_is_not_offered_is_said_at_its_field(firm: Firm, client: Client) -> None:
    client.force_login(firm.manager)
    page = client.get(reverse("crew"), {"standing": "<b>brilliant</b>"})
    assert page.status_code == 422
    assert "&lt;b&gt;brilliant&lt;/b&gt;" in page.text
    assert "is not in this list" in page.text
    assert firm.yard.trainee.full_name in page.text


def test_empty_states_are_plain(db: None, client: Client) -> None:
    manager = make_role("contractor", make_organisation("contractor"))
    client.force_login(manager)
    assert "Nobody is known as employed by you today" in client.get(reverse("crew")).text
    assert "No record yet" in client.get(reverse("record_list")).text


def test_only_a_manager_has_a_crew(firm: Firm, client: Client) -> None:
    for person in (firm.yard.lead, firm.yard.instructor, firm.yard.trainee):
        client.force_login(person)
        for name in ("crew", "crew_csv", "crew_xlsx"):
            assert client.get(reverse(name)).status_code == 403
        assert client.get(reverse("mason", args=[firm.yard.trainee.pk])).status_code == 404


def test_a_crew_of_two_firms_names_the_firm(firm: Firm, client: Client) -> None:
    second = make_organisation("contractor", "Northing Masonry Ltd")
    firm.manager.roles.create(organisation=second, kind="contractor")
    worker = make_person("Ilse Vantongeren")
    hire(second, worker)
    enrol(firm.yard.run, worker)
    client.force_login(firm.manager)
    text = client.get(reverse("crew")).text
    assert '<span class="soft small">Northing Masonry Ltd</span>' in text
    only = client.get(reverse("crew"), {"employer": second.pk}).text
    assert "Ilse Vantongeren" in only
    assert firm.yard.trainee.full_name not in only
