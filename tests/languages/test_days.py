"""Days in the words of each language, against Babel's copy of the CLDR (Unicode, long dates)."""

from datetime import date

import pytest
from babel.dates import format_date
from django.utils import translation
from django.utils.formats import date_format

from config.formats.en import formats as english
from config.formats.es import formats as spanish

DAYS = [date(2026, month, month + 3) for month in range(1, 13)]


@pytest.mark.parametrize(("language", "cldr"), [("en", "en_GB"), ("es", "es"), ("es-mx", "es_MX")])
def test_a_day_is_written_as_the_language_does(language: str, cldr: str) -> None:
    with translation.override(language):
        written = [date_format(day) for day in DAYS]
    assert written == [format_date(day, "long", locale=cldr) for day in DAYS]


def test_both_languages_have_every_format() -> None:
    # A name that a language lacks would be shown as it stands.
    names = [{name for name in vars(each) if name.isupper()} for each in (english, spanish)]
    assert names[0] == names[1]
    assert "WEEKDAY_FORMAT" in names[0]


def test_a_day_of_the_week() -> None:
    with translation.override("es"):
        assert date_format(date(2026, 5, 4), "WEEKDAY_FORMAT") == "lunes 4 de mayo de 2026"
