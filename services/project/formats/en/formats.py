"""Days in short, as English pages write them; they do not break over lines."""

SHORT_DATE_FORMAT = "j\xa0M\xa0Y"
SHORT_DATETIME_FORMAT = "j\xa0M\xa0Y, H:i"
MONTH_DAY_FORMAT = "j\xa0M"
