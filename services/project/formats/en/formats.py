"""Days as English pages write them; those in short do not break over lines."""

DATE_FORMAT = "M\xa0j, Y"
DATETIME_FORMAT = "M\xa0j, Y, g:i a"
SHORT_DATE_FORMAT = "j\xa0M\xa0Y"
SHORT_DATETIME_FORMAT = "j\xa0M\xa0Y, H:i"
MONTH_DAY_FORMAT = "j\xa0M"
