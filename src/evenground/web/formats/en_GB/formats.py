"""Forms of dates; Django reads these names."""

DATE_FORMAT = SHORT_DATE_FORMAT = "j M Y"
DATETIME_FORMAT = SHORT_DATETIME_FORMAT = "j M Y, H:i"
MONTH_DAY_FORMAT = "j F"
TIME_FORMAT = "H:i"
