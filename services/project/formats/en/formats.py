"""Days as English pages write them, in one form that does not break over lines."""

DATE_FORMAT = SHORT_DATE_FORMAT = "M\xa0j,\xa0Y"
DATETIME_FORMAT = SHORT_DATETIME_FORMAT = "M\xa0j,\xa0Y, H:i"
MONTH_DAY_FORMAT = "M\xa0j"
