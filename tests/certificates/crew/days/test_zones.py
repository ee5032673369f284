"""When a day begins and ends: where the project is, whatever the server's zone (New York here).

The instants are those of the IANA time zone database: London changed its clocks at 01:00 UTC on
28 March and changes them back at 01:00 UTC on 31 October 2027; New York at 07:00 UTC on 14 March
and at 06:00 UTC on 7 November (recomputed with zoneinfo).
"""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.conf import LazySettings

from certificates.actions.days import place_people
from certificates.models import DayPlace
from certificates.queries.badges import badge_of
from tests.certificates.crew.coverage.builders import set_clock
from tests.certificates.crew.days.builders import tower
from training.errors import Refused

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("zone", "last_moment", "day"),
    [
        ("Europe/London", "2027-03-28T22:59:59+00:00", date(2027, 3, 28)),  # summer time begun
        ("Europe/London", "2027-10-31T23:59:59+00:00", date(2027, 10, 31)),  # summer time over
        ("America/New_York", "2027-03-15T03:59:59+00:00", date(2027, 3, 14)),
        ("America/New_York", "2027-11-08T04:59:59+00:00", date(2027, 11, 7)),
        ("Pacific/Auckland", "2027-01-15T10:59:59+00:00", date(2027, 1, 15)),  # a day ahead
        ("Pacific/Honolulu", "2027-01-16T09:59:59+00:00", date(2027, 1, 15)),  # a day behind
    ],
)
def test_a_day_is_over_at_midnight_where_the_project_is(
    zone: str,
    last_moment: str,
    day: date,
    settings: LazySettings,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    settings.TIME_ZONE = "America/New_York"
    site = tower(zone)
    moment = datetime.fromisoformat(last_moment)
    assert moment.astimezone(ZoneInfo(zone)).date() == day
    set_clock(monkeypatch, moment)
    (place,) = place_people(
        actor=site.manager, project=site.project, post=site.a, day=day, people=[site.able]
    )
    assert badge_of(place) is not None
    set_clock(monkeypatch, moment + timedelta(seconds=1))
    assert badge_of(place) is None
    with pytest.raises(Refused, match=f"is over in {zone}"):
        place_people(
            actor=site.manager, project=site.project, post=site.a, day=day, people=[site.other]
        )
    assert DayPlace.objects.get() == place
