"""On which day a confirmation keeps a record, and on which it comes too late.

The worked cases follow ISO 9606-1:2017, 9.2: the qualification stays valid while it is confirmed
every six months that the welder worked within the range (clause from memory). Days count as
calendar months do in that clause, and the last day counts (an interpretation of the product).
Offsets of time zones are those of the IANA time zone database: New York -5 and from 14 March 2027
-4, until 7 November 2027; Auckland +13 until 4 April 2027; Honolulu -10.
"""

from datetime import UTC, date, datetime

import pytest

from tests.certificates.crew.clock import at
from tests.certificates.crew.continuity.conftest import Bench, make_bench
from training.errors import Refused


def test_six_months_to_the_day_keep_the_record(bench: Bench) -> None:
    # 1 October 2026 and 182 days is 1 April 2027, six months later.
    last = date.fromordinal(date(2026, 10, 1).toordinal() + 182)
    with at("2027-04-01T18:00"):
        assert bench.held().word == "confirmation_due"
        assert bench.held().confirm_by == last
        bench.sign(last)
        assert (bench.held().word, bench.held().confirm_by) == ("current", date(2027, 10, 1))
    with at("2027-10-02T18:00"):
        assert bench.held().word == "not_confirmed"


def test_the_day_after_comes_too_late_and_says_what_to_do(bench: Bench) -> None:
    with at("2027-04-02T18:00"):
        assert bench.held().word == "not_confirmed"
        with pytest.raises(Refused) as refused:
            bench.sign(date(2027, 4, 1))
    assert "comes too late" in refused.value.message
    assert "no longer since 02 Apr 2027" in refused.value.message
    assert f"ask {bench.program.provider} for a renewal" in refused.value.message
    assert not bench.record.confirmations.exists()


def test_a_chain_is_kept_link_by_link(bench: Bench) -> None:
    for moment, worked_on in (
        ("2027-01-15T18:00", date(2027, 1, 10)),
        ("2027-07-10T18:00", date(2027, 7, 9)),  # due on 10 July
        ("2028-01-09T18:00", date(2028, 1, 3)),  # due on 9 January
    ):
        with at(moment):
            bench.sign(worked_on)
    with at("2028-07-03T18:00"):
        assert bench.held().word == "confirmation_due"
    with at("2028-07-04T18:00"):
        assert bench.held().word == "not_confirmed"


@pytest.mark.django_db
def test_in_grace_the_signature_is_late_and_the_work_is_not() -> None:
    bench = make_bench(grace=30)
    with at("2027-04-20T18:00"):
        assert bench.held().word == "in_grace"
        with pytest.raises(Refused) as refused:
            bench.sign(date(2027, 4, 2))
        assert refused.value.field == "worked_on"
        assert "01 Apr 2027 or before" in refused.value.message
    with at("2027-05-01T18:00"):  # 30 days after 1 April
        bench.sign(date(2027, 3, 30))
        assert bench.held().confirm_by == date(2027, 9, 30)


@pytest.mark.django_db
def test_after_the_grace_nothing_mends_it() -> None:
    bench = make_bench(grace=30)
    with at("2027-05-02T18:00"), pytest.raises(Refused, match="comes too late"):
        bench.sign(date(2027, 3, 30))


@pytest.mark.parametrize(
    ("issued", "due"),
    [
        # 2028 is a leap year: months that end later come to 29 February.
        (datetime(2027, 8, 29, 15, tzinfo=UTC), date(2028, 2, 29)),
        (datetime(2027, 8, 31, 15, tzinfo=UTC), date(2028, 2, 29)),
        (datetime(2026, 8, 31, 15, tzinfo=UTC), date(2027, 2, 28)),
        (datetime(2028, 2, 29, 15, tzinfo=UTC), date(2028, 8, 29)),
    ],
)
@pytest.mark.django_db
def test_months_of_different_length(issued: datetime, due: date) -> None:
    bench = make_bench(issued)
    noon = datetime(due.year, due.month, due.day, 17, tzinfo=UTC)
    with at(noon):
        assert bench.sign(due).signed_on == due
    late = make_bench(issued)
    with at(datetime.fromordinal(due.toordinal() + 1).replace(hour=17)), pytest.raises(Refused):
        late.sign(due)


@pytest.mark.parametrize(
    ("zone", "issued", "last", "too_late"),
    [
        # The day ends in summer time, though it began in winter time: 14 March 2027.
        ("America/New_York", "2026-09-14", "2027-03-15T03:59", "2027-03-15T04:00"),
        # A day of 25 hours: 7 November 2027.
        ("America/New_York", "2027-05-07", "2027-11-08T04:59", "2027-11-08T05:00"),
        ("Pacific/Auckland", "2026-10-01", "2027-04-01T10:59", "2027-04-01T11:00"),
        ("Pacific/Honolulu", "2026-10-01", "2027-04-02T09:59", "2027-04-02T10:00"),
    ],
)
@pytest.mark.django_db
def test_the_day_is_that_of_the_site(zone: str, issued: str, last: str, too_late: str) -> None:
    # Midday in New York and Honolulu, and the same day already begun in Auckland.
    moment = (
        f"{issued}T22:00:00+00:00" if zone != "Pacific/Auckland" else f"{issued}T01:00:00+00:00"
    )
    bench = make_bench(datetime.fromisoformat(moment), zone=zone)
    with at(last):
        last_day = bench.held().confirm_by
        assert last_day is not None
        assert bench.sign(last_day).signed_on == last_day
    other = make_bench(datetime.fromisoformat(moment), zone=zone)
    with at(too_late), pytest.raises(Refused, match="comes too late"):
        other.sign(last_day)


@pytest.mark.django_db
def test_a_day_that_has_come_elsewhere_is_the_future_here() -> None:
    auckland = make_bench(zone="Pacific/Auckland")
    honolulu = make_bench(zone="Pacific/Honolulu")
    with at("2027-02-09T12:00"):
        assert auckland.sign(date(2027, 2, 10)).signed_on == date(2027, 2, 10)
        with pytest.raises(Refused) as refused:
            honolulu.sign(date(2027, 2, 10))
    assert refused.value.field == "worked_on"
    assert "Pacific/Honolulu) it is 09 Feb 2027" in refused.value.message


@pytest.mark.django_db
def test_the_first_day_is_that_of_issue_at_the_site() -> None:
    # 03:00 UTC is 23:00 of the day before in New York (-4 in September).
    bench = make_bench(datetime(2026, 10, 2, 3, tzinfo=UTC))
    with at("2026-11-20T18:00"):
        with pytest.raises(Refused) as refused:
            bench.sign(date(2026, 9, 30))
        assert refused.value.field == "worked_on"
        assert bench.sign(date(2026, 10, 1)).worked_on == date(2026, 10, 1)


@pytest.mark.django_db
def test_what_lapses_first_is_not_carried_on() -> None:
    bench = make_bench(valid_until=date(2027, 2, 1))
    with at("2027-02-02T18:00"), pytest.raises(Refused, match="lapsed: its last day was 01 Feb"):
        bench.sign(date(2027, 1, 20))
