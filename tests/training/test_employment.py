"""Offers of employment, the person's answer, and what ends.

The rules are the product's own: a mason's record belongs to the mason, and only the mason's
answer lets a contractor see it. All people and firms are invented.
"""

from datetime import date, timedelta

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.utils import timezone
from pytest_django import DjangoCaptureOnCommitCallbacks

from tests.assessments.builders import at_once
from tests.factories import make_organisation, make_person, make_role
from tests.training.yard import Yard
from training.actions.employment import answer_offer, offer_employment, take_back_offer
from training.errors import Refused
from training.models import Employment, EmploymentOffer, LogEntry, Organisation, Person
from training.queries.employment import mark_of
from training.queries.scope import crew_visible_to


def in_days(number: int) -> date:
    """Return the day so many days from today."""
    return timezone.localdate() + timedelta(days=number)


def offer(manager: Person, to: Person, since: date | None = None) -> EmploymentOffer:
    """Return an offer of the firm that ``manager`` manages."""
    return offer_employment(
        actor=manager,
        organisation=manager.roles.get().organisation,
        email=to.email,
        full_name=to.full_name,
        since=since or in_days(0),
    )


@pytest.fixture
def rival(yard: Yard) -> Person:
    """Return the manager of the other firm."""
    return make_role("contractor", yard.other_firm)


def test_nothing_is_seen_before_the_answer_and_everything_moves_with_it(
    yard: Yard, rival: Person
) -> None:
    made = offer(rival, yard.trainee)
    assert not crew_visible_to(rival).exists()
    assert crew_visible_to(yard.manager).get() == yard.trainee
    begun = answer_offer(actor=yard.trainee, offer=made, accept=True, seen=mark_of(yard.trainee))
    old, new = Employment.objects.filter(person=yard.trainee).order_by("since")
    assert (old.organisation, old.until) == (yard.firm, in_days(-1))
    assert begun == new
    assert (new.organisation, new.since, new.until) == (yard.other_firm, in_days(0), None)
    assert crew_visible_to(rival).get() == yard.trainee
    assert not crew_visible_to(yard.manager).exists()
    made.refresh_from_db()
    assert (made.state, made.answered_at is None) == ("accepted", False)
    verbs = list(LogEntry.objects.order_by("seq").values_list("verb", flat=True))
    assert verbs == ["employment.offered", "employment.accepted"]


def test_a_future_first_day_leaves_the_present_employer_until_then(
    yard: Yard, rival: Person
) -> None:
    made = offer(rival, yard.trainee, in_days(10))
    answer_offer(actor=yard.trainee, offer=made, accept=True)
    assert crew_visible_to(yard.manager).get() == yard.trainee
    assert not crew_visible_to(rival).exists()
    assert Employment.objects.get(organisation=yard.firm).until == in_days(9)


def test_an_end_that_was_written_already_is_not_put_off(yard: Yard, rival: Person) -> None:
    Employment.objects.filter(person=yard.trainee).update(until=in_days(2))
    answer_offer(actor=yard.trainee, offer=offer(rival, yard.trainee, in_days(5)), accept=True)
    assert Employment.objects.get(organisation=yard.firm).until == in_days(2)
    third = make_role("contractor", make_organisation("contractor"))
    answer_offer(actor=yard.trainee, offer=offer(third, yard.trainee, in_days(6)), accept=True)
    assert Employment.objects.get(organisation=yard.other_firm).until == in_days(5)


def test_declined_or_taken_back_changes_no_employment(yard: Yard, rival: Person) -> None:
    first = offer(rival, yard.trainee)
    assert answer_offer(actor=yard.trainee, offer=first, accept=False) is None
    second = offer(rival, yard.trainee)
    take_back_offer(actor=rival, offer=second)
    with pytest.raises(Refused, match="meanwhile"):
        answer_offer(actor=yard.trainee, offer=second, accept=True)
    with pytest.raises(Refused, match="meanwhile"):
        take_back_offer(actor=rival, offer=first)
    assert Employment.objects.get(person=yard.trainee).until is None
    states = EmploymentOffer.objects.order_by("pk").values_list("state", flat=True)
    assert list(states) == ["declined", "taken_back"]


@pytest.mark.parametrize("who", ["trainee", "lead", "manager", "stranger"])
def test_only_the_own_manager_offers_and_takes_back(yard: Yard, rival: Person, who: str) -> None:
    made, actor = offer(rival, yard.trainee), getattr(yard, who)
    with pytest.raises(PermissionDenied):
        offer_employment(
            actor=actor,
            organisation=yard.other_firm,
            email="new@example.org",
            full_name="Oluwaseun Brandvold",
            since=in_days(0),
        )
    with pytest.raises(PermissionDenied):
        take_back_offer(actor=actor, offer=made)
    assert not Person.objects.filter(email="new@example.org").exists()


def test_only_the_person_asked_answers(yard: Yard, rival: Person) -> None:
    made = offer(rival, yard.trainee)
    for actor in (rival, yard.manager, yard.lead, yard.stranger):
        with pytest.raises(PermissionDenied):
            answer_offer(actor=actor, offer=made, accept=True)
    assert not crew_visible_to(rival).exists()


@pytest.mark.parametrize(
    ("days", "accepted"), [(-32, False), (-31, True), (366, True), (367, False)]
)
def test_the_first_day_is_near(yard: Yard, rival: Person, days: int, accepted: bool) -> None:
    if accepted:
        assert offer(rival, yard.stranger, in_days(days)).since == in_days(days)
        return
    with pytest.raises(Refused) as refused:
        offer(rival, yard.stranger, in_days(days))
    assert refused.value.field == "since"


def test_an_old_offer_dates_nothing_back(yard: Yard, rival: Person) -> None:
    made = offer(rival, yard.trainee)
    EmploymentOffer.objects.filter(pk=made.pk).update(since=in_days(-32))
    with pytest.raises(Refused, match="a new one"):
        answer_offer(actor=yard.trainee, offer=made, accept=True)
    assert Employment.objects.get(person=yard.trainee).until is None


@pytest.mark.parametrize(
    ("email", "name", "field"),
    [("no address", "Ada Stone", "email"), ("ada@example.org", "   ", "full_name")],
)
def test_what_is_no_address_or_name_is_said_at_its_field(
    rival: Person, yard: Yard, email: str, name: str, field: str
) -> None:
    with pytest.raises(Refused) as refused:
        offer_employment(
            actor=rival,
            organisation=yard.other_firm,
            email=email,
            full_name=name,
            since=in_days(0),
        )
    assert refused.value.field == field
    assert not Person.objects.filter(email="ada@example.org").exists()


def test_one_offer_waits_and_nobody_is_hired_twice(yard: Yard, rival: Person) -> None:
    offer(rival, yard.trainee)
    with pytest.raises(Refused) as refused:
        offer(rival, yard.trainee)
    assert refused.value.field == "email"
    with pytest.raises(Refused, match="on your crew"):
        offer(yard.manager, yard.trainee)


def test_the_name_that_was_typed_renames_nobody_and_tells_nothing(
    yard: Yard,
    rival: Person,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    given = {"actor": rival, "organisation": yard.other_firm, "since": in_days(0)}
    with django_capture_on_commit_callbacks(execute=True):
        known = offer_employment(email=yard.trainee.email, full_name="Someone Else", **given)  # type: ignore[arg-type]
        fresh = offer_employment(email="Fresh@Example.org", full_name="Ada Stone", **given)  # type: ignore[arg-type]
    yard.trainee.refresh_from_db()
    assert (known.person, yard.trainee.full_name) == (yard.trainee, "Aranka Felsőházi")
    assert (fresh.person.email, fresh.person.full_name) == ("fresh@example.org", "Ada Stone")
    assert not fresh.person.has_usable_password()
    to_known, to_fresh = mail.outbox
    assert (to_known.to, to_fresh.to) == ([yard.trainee.email], ["fresh@example.org"])
    # Whoever has no password gets a way in; by e-mail only, which the manager does not read.
    assert "/password/" in to_fresh.body
    assert "/password/" not in to_known.body
    assert "/my-employment/" in to_known.body


def test_an_answer_to_a_page_that_is_out_of_date_is_refused(yard: Yard, rival: Person) -> None:
    made, seen = offer(rival, yard.trainee), mark_of(yard.trainee)
    Employment.objects.filter(person=yard.trainee).update(until=in_days(3))
    with pytest.raises(Refused, match="changed since"):
        answer_offer(actor=yard.trainee, offer=made, accept=True, seen=seen)
    assert answer_offer(actor=yard.trainee, offer=made, accept=False, seen=seen) is None


def test_an_employment_that_begins_later_is_in_the_way(yard: Yard, rival: Person) -> None:
    answer_offer(actor=yard.trainee, offer=offer(rival, yard.trainee, in_days(10)), accept=True)
    third = make_role("contractor", make_organisation("contractor"))
    made = offer(third, yard.trainee, in_days(4))
    with pytest.raises(Refused, match="later day"):
        answer_offer(actor=yard.trainee, offer=made, accept=True)
    assert Employment.objects.filter(person=yard.trainee).count() == 2


def test_both_sides_are_told(
    yard: Yard,
    rival: Person,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    made = offer(rival, yard.trainee)
    with django_capture_on_commit_callbacks(execute=True):
        answer_offer(actor=yard.trainee, offer=made, accept=True)
    told = {message.to[0]: message.body for message in mail.outbox}
    assert set(told) == {rival.email, yard.manager.email}
    assert "accepted" in told[rival.email]
    assert "leaves the crew" in told[yard.manager.email]
    # The former employer does not learn where to.
    assert yard.other_firm.name not in told[yard.manager.email]


@pytest.mark.django_db(transaction=True)
@pytest.mark.faults
def test_of_two_answers_at_once_one_wins() -> None:
    person = make_person()
    firms = [make_organisation(Organisation.Kind.CONTRACTOR) for _ in range(2)]
    offers = [
        offer(make_role("contractor", firm), person, in_days(number))
        for number, firm in enumerate(firms)
    ]
    seen = mark_of(person)

    def accept(number: int) -> str:
        try:
            answer_offer(actor=person, offer=offers[number], accept=True, seen=seen)
        except Refused as refused:
            return refused.message
        return "accepted"

    answers = at_once(accept)
    assert answers.count("accepted") == 1
    assert any("changed since" in answer for answer in answers)
    assert Employment.objects.count() == 1
