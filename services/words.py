"""Numbers and spans in words, as headings say them."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

NUMBERS = [
    gettext_lazy("one"),
    gettext_lazy("two"),
    gettext_lazy("three"),
    gettext_lazy("four"),
    gettext_lazy("five"),
    gettext_lazy("six"),
    gettext_lazy("seven"),
    gettext_lazy("eight"),
    gettext_lazy("nine"),
    gettext_lazy("ten"),
    gettext_lazy("eleven"),
    gettext_lazy("twelve"),
]


def in_words(number: int) -> str:
    """Return a number as a word up to twelve, in figures beyond."""
    return str(NUMBERS[number - 1]) if 1 <= number <= len(NUMBERS) else str(number)


def week_of_rotation(week: int, weeks: int) -> str:
    """Return which week of how many, in words."""
    return _("Week %(week)s of %(weeks)s") % {"week": in_words(week), "weeks": in_words(weeks)}
