"""A clock that tests of days set, since a record is kept over months."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from unittest import mock

from tests.triggers import lifted


@contextmanager
def at(moment: datetime | str) -> Iterator[datetime]:
    """Run the block as if it were ``moment`` (UTC where nothing else is said).

    What keeps confirmations from being dated back goes by the database's own clock, which no
    test sets: it is lifted meanwhile.
    """
    now = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    now = now.replace(tzinfo=now.tzinfo or UTC)
    with (
        lifted("certificates_confirmation"),
        mock.patch("django.utils.timezone.now", return_value=now),
    ):
        yield now
