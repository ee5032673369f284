"""Hours of a site's clocks, held to the days on which clocks changed.

Dates from the IANA time zone database (from memory): America/New_York went forward on
8 March 2026 at 02:00 and goes back on 1 November 2026 at 02:00; Europe/London goes back on
25 October 2026 at 02:00; Africa/Cairo goes forward at midnight on 24 April 2026.
"""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from training.errors import Refused
from training.site_time import instant, span

NEW_YORK, LONDON = ZoneInfo("America/New_York"), ZoneInfo("Europe/London")
CAIRO = ZoneInfo("Africa/Cairo")


@pytest.mark.parametrize(
    ("day", "at", "zone", "words"),
    [
        (date(2026, 3, 8), time(2, 30), NEW_YORK, "There is no 02:30 on 08 Mar 2026"),
        (date(2026, 3, 8), time(2, 0), NEW_YORK, "There is no 02:00"),
        (date(2026, 11, 1), time(1, 30), NEW_YORK, "01:30 comes twice on 01 Nov 2026"),
        (date(2026, 11, 1), time(1, 0), NEW_YORK, "comes twice"),
        (date(2026, 10, 25), time(1, 59), LONDON, "comes twice"),
        (date(2026, 4, 24), time(0, 30), CAIRO, "There is no 00:30"),
    ],
)
def test_doubtful_hours_are_said(day: date, at: time, zone: ZoneInfo, words: str) -> None:
    with pytest.raises(Refused, match=words) as refused:
        instant(day, at, zone, field="starts")
    assert refused.value.field == "starts"


@pytest.mark.parametrize(
    ("day", "at", "hour"),
    [
        (date(2026, 3, 8), time(1, 59), (6, 59)),
        (date(2026, 3, 8), time(3, 0), (7, 0)),
        (date(2026, 11, 1), time(0, 59), (4, 59)),
        (date(2026, 11, 1), time(2, 0), (7, 0)),
    ],
)
def test_hours_beside_the_change_are_plain(day: date, at: time, hour: tuple[int, int]) -> None:
    assert instant(day, at, NEW_YORK, field="starts") == datetime(
        day.year, day.month, day.day, *hour, tzinfo=UTC
    )


@settings(max_examples=30, deadline=None)
@given(st.dates(date(2026, 1, 1), date(2027, 12, 31)), st.times(), st.sampled_from([LONDON, CAIRO]))
def test_every_hour_is_shown_as_written_or_refused(day: date, at: time, zone: ZoneInfo) -> None:
    try:
        found = instant(day, at, zone, field="starts")
    except Refused:
        return
    assert found.astimezone(zone).replace(tzinfo=None) == datetime.combine(day, at)


def test_a_span_names_the_day_on_which_it_ends() -> None:
    start = datetime(2026, 11, 3, 22, tzinfo=NEW_YORK)
    assert span(start, start.replace(hour=23), NEW_YORK) == "3 Nov 2026, 22:00 to 23:00"
    over = datetime(2026, 11, 4, 1, tzinfo=NEW_YORK)
    assert span(start, over, NEW_YORK) == "3 Nov 2026, 22:00 to 01:00 on 4 Nov 2026"
