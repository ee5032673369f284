"""Days in English: day first, whatever the country, so that no two pages differ."""

DATE_FORMAT = "j F Y"
DATETIME_FORMAT = "j F Y, H:i"
WEEKDAY_FORMAT = "l j F Y"
ZONED_FORMAT = "j F Y, H:i e"
MONTH_DAY_FORMAT = "j F"
