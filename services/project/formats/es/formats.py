"""Days in short, and numbers with the point of the United States, where a comma is misread."""

SHORT_DATE_FORMAT = "j\xa0b\xa0Y"
SHORT_DATETIME_FORMAT = "j\xa0b\xa0Y, H:i"
MONTH_DAY_FORMAT = "j\xa0b"
DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
DATE_INPUT_FORMATS = ["%m/%d/%Y", "%m/%d/%y"]
