"""Days in Spanish, as Django's own module writes them, with hours of 24."""

DATE_FORMAT = r"j \d\e F \d\e Y"
DATETIME_FORMAT = r"j \d\e F \d\e Y, H:i"
WEEKDAY_FORMAT = r"l j \d\e F \d\e Y"
ZONED_FORMAT = r"j \d\e F \d\e Y, H:i e"
MONTH_DAY_FORMAT = r"j \d\e F"
