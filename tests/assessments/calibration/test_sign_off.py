"""Where a program asks for it, only an authorised assessor signs; everybody goes on scoring."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.actions import decisions
from assessments.actions.calibration import withdraw_authority
from assessments.actions.decisions import sign_off
from assessments.models import Attempt, Decision
from assessments.queries.calibration.authority import Authority
from tests.assessments.builders import Yard, make_yard, score_all
from tests.assessments.calibration.builders import ask, at_site, authorised
from tests.assessments.test_guards import decide, refused
from tests.factories import PASSWORD
from training.errors import Refused

pytestmark = pytest.mark.django_db
LAST = date(2027, 3, 10)


def scored(yard: Yard) -> Attempt:
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    return attempt


def sign(yard: Yard, attempt: Attempt) -> Decision:
    return sign_off(actor=yard.instructor, attempt=attempt, password_checked=True)


def now_is(monkeypatch: pytest.MonkeyPatch, moment: Any) -> None:
    """Let Django's clock stand still, as aware time."""
    monkeypatch.setattr(timezone, "now", lambda: moment)
    field = Decision._meta.get_field("decided_at")
    monkeypatch.setattr(field, "_get_default", lambda: moment)


def test_without_a_requirement_nothing_changes() -> None:
    yard = make_yard()
    assert sign(yard, scored(yard)).result == "met"


def test_only_who_is_authorised_signs() -> None:
    yard = make_yard()
    attempt = scored(yard)
    ask(yard)
    with pytest.raises(Refused, match=r"You are not authorised .* Somebody who is authorised must"):
        sign(yard, attempt)
    attempt.refresh_from_db()
    assert (attempt.state, Decision.objects.count()) == ("open", 0)
    authorised(yard, yard.instructor, timezone.localdate())
    assert sign(yard, attempt).decided_by == yard.instructor


def test_scoring_goes_on_without_an_authority() -> None:
    yard = make_yard()
    ask(yard)
    assert scored(yard).observations.count() == 6


def test_the_authority_of_another_program_does_not_count() -> None:
    yard, other = make_yard(), make_yard()
    attempt = scored(yard)
    ask(yard)
    authorised(other, yard.instructor, timezone.localdate() + timedelta(days=99))
    with pytest.raises(Refused, match="not authorised"):
        sign(yard, attempt)


def test_who_lost_it_does_not_sign() -> None:
    yard = make_yard()
    attempt = scored(yard)
    ask(yard)
    authorised(yard, yard.instructor, timezone.localdate() + timedelta(days=99))
    withdraw_authority(
        actor=yard.lead, program=yard.program, assessor=yard.instructor, reason="Apart on joints."
    )
    with pytest.raises(Refused, match=r"was withdrawn: Apart on joints\."):
        sign(yard, attempt)


# 23 h in New York is the next day in UTC; 1 h in Auckland is the day before in UTC. The day of
# the site decides in both, in the action and in the database.
@pytest.mark.parametrize(("zone", "hour"), [("America/New_York", 23), ("Pacific/Auckland", 1)])
@pytest.mark.parametrize(("day", "may"), [(LAST, True), (LAST + timedelta(days=1), False)])
def test_the_last_day_is_that_of_the_site(
    monkeypatch: pytest.MonkeyPatch, zone: str, hour: int, day: date, may: bool
) -> None:
    yard = make_yard()
    yard.run.site.time_zone = zone
    yard.run.site.save()
    attempt = scored(yard)
    ask(yard)
    authorised(yard, yard.instructor, LAST)
    moment = at_site(day, hour, zone)
    now_is(monkeypatch, moment)
    if may:
        assert sign(yard, attempt).decided_at == moment
        return
    with pytest.raises(Refused, match="ended on 10 Mar 2027"):
        sign(yard, attempt)
    name = refused(lambda: decide(attempt, yard, decided_at=moment))
    assert name == "decision_by_authorised"


def test_the_database_refuses_on_its_own() -> None:
    yard = make_yard()
    attempt = scored(yard)
    ask(yard)
    assert refused(lambda: decide(attempt, yard)) == "decision_by_authorised"
    authorised(yard, yard.lead, timezone.localdate() + timedelta(days=9))
    assert refused(lambda: decide(attempt, yard)) == "decision_by_authorised"
    assert decide(attempt, yard, decided_by=yard.lead).decided_by == yard.lead


def test_an_authority_taken_in_between_is_told_and_no_error(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    yard = make_yard()
    attempt = scored(yard)
    ask(yard)
    monkeypatch.setattr(decisions, "authority_of", lambda program, person: Authority(False, None))
    with pytest.raises(Refused, match="ended just now"):
        sign(yard, attempt)
    assert not Decision.objects.exists()


def page(yard: Yard, attempt: Attempt, **sent: str) -> str:
    client = Client()
    client.force_login(yard.instructor, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("attempt_decide", args=[attempt.pk])
    response = client.post(address, sent) if sent else client.get(address)
    assert response.status_code == 200
    return response.content.decode()


def test_the_page_says_beforehand_who_may_not_and_who_may() -> None:
    yard = make_yard()
    attempt = scored(yard)
    assert "You may not sign this off" not in page(yard, attempt)
    ask(yard)
    shown = page(yard, attempt)
    assert "You may not sign this off" in shown
    assert "Nobody who assesses this run is authorised now" in shown
    assert 'name="password"' not in shown
    authorised(yard, yard.lead, timezone.localdate() + timedelta(days=9))
    # Authorised, but neither teaching this run nor leading: of no help here.
    elsewhere = make_yard().instructor
    authorised(yard, elsewhere, timezone.localdate() + timedelta(days=9))
    shown = page(yard, attempt)
    assert f"Who may: {yard.lead}." in shown
    assert str(elsewhere) not in shown
    page(yard, attempt, password=PASSWORD)
    assert not Decision.objects.exists()
