"""Days, times and numbers as people in the United States write them, in English or Spanish."""

from datetime import UTC, date, datetime
from decimal import Decimal

MONTHS = {
    "en": [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ],
    "es": [
        "enero",
        "febrero",
        "marzo",
        "abril",
        "mayo",
        "junio",
        "julio",
        "agosto",
        "septiembre",
        "octubre",
        "noviembre",
        "diciembre",
    ],
}
WEEKDAYS = {
    "en": ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"],
    "es": ["lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo"],
}


def _language(language: str) -> str:
    return "es" if language.startswith("es") else "en"


def month_name(month: int, language: str) -> str:
    """Return the name of a month, 1 to 12.

    >>> month_name(6, "es")
    'junio'
    """
    return MONTHS[_language(language)][month - 1]


def weekday_name(day: date, language: str) -> str:
    """Return the name of a day's weekday.

    >>> weekday_name(date(2026, 6, 18), "en")
    'Thursday'
    """
    return WEEKDAYS[_language(language)][day.weekday()]


def long_day(day: date, language: str) -> str:
    """Return a day with weekday, month and year in words.

    >>> long_day(date(2026, 6, 18), "en"), long_day(date(2026, 6, 18), "es")
    ('Thursday, June 18, 2026', 'jueves 18 de junio de 2026')
    """
    weekday, month = weekday_name(day, language), month_name(day.month, language)
    if _language(language) == "es":
        return f"{weekday} {day.day} de {month} de {day.year}"
    return f"{weekday}, {month} {day.day}, {day.year}"


def short_day(day: date, language: str) -> str:
    """Return a day without its year, names cut to three letters.

    >>> short_day(date(2026, 6, 18), "en"), short_day(date(2026, 6, 18), "es")
    ('Thu Jun 18', 'jue 18 jun')
    """
    weekday, month = weekday_name(day, language)[:3], month_name(day.month, language)[:3]
    if _language(language) == "es":
        return f"{weekday} {day.day} {month}"
    return f"{weekday} {month} {day.day}"


def day_of_year(day: date, language: str) -> str:
    """Return a day with its year, the month cut to three letters.

    >>> day_of_year(date(2026, 6, 18), "en"), day_of_year(date(2026, 6, 18), "es")
    ('Jun 18, 2026', '18 jun 2026')
    """
    month = month_name(day.month, language)[:3]
    if _language(language) == "es":
        return f"{day.day} {month} {day.year}"
    return f"{month} {day.day}, {day.year}"


def clock(moment: datetime, language: str) -> str:
    """Return the time of day: 12 hours with am and pm in English, 24 hours in Spanish.

    >>> clock(datetime(2026, 6, 18, 19, 40), "en"), clock(datetime(2026, 6, 18, 19, 40), "es")
    ('7:40 pm', '19:40')
    """
    if _language(language) == "es":
        return f"{moment.hour}:{moment.minute:02d}"
    half = "am" if moment.hour < 12 else "pm"
    return f"{moment.hour % 12 or 12}:{moment.minute:02d} {half}"


def day_and_clock(moment: datetime, language: str) -> str:
    """Return day and time in short.

    >>> day_and_clock(datetime(2026, 6, 18, 19, 40), "en")
    'Thu Jun 18, 7:40 pm'
    """
    return f"{short_day(moment, language)}, {clock(moment, language)}"


def exact_moment(moment: datetime, language: str) -> str:
    """Return day, time, zone and the same in UTC, for what must stand for years.

    >>> from zoneinfo import ZoneInfo
    >>> exact_moment(datetime(2026, 6, 18, 19, 40, tzinfo=ZoneInfo("America/New_York")), "en")
    'June 18, 2026, 7:40 pm EDT (2026-06-18 23:40 UTC)'
    """
    day = long_day(moment, language).split(maxsplit=1)[1]
    universal = moment.astimezone(UTC)
    return f"{day}, {clock(moment, language)} {moment:%Z} ({universal:%Y-%m-%d %H:%M} UTC)"


def number(value: Decimal | int, places: int | None = None) -> str:
    """Return a number with point and thousands comma, without needless zeros unless asked.

    >>> number(Decimal("1250.50")), number(Decimal("3.0")), number(Decimal("2"), 1)
    ('1,250.5', '3', '2.0')
    """
    if places is not None:
        return f"{value:,.{places}f}"
    written = f"{value:,f}"
    return written.rstrip("0").rstrip(".") if "." in written else written
