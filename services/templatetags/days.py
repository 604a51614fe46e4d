"""Days and hours on pages, written as they are on paper."""

from django import template
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from services.sheets import dates

register = template.Library()


@register.filter
def long_day(day):
    """Return a day with weekday, month and year in words."""
    return dates.long_day(day, get_language()) if day else ""


@register.filter
def short_day(day):
    """Return a day without its year, names cut short."""
    return dates.short_day(day, get_language()) if day else ""


@register.filter
def clock(moment, zone):
    """Return the time of day of a moment in a time zone."""
    return dates.clock(moment.astimezone(zone), get_language()) if moment else ""


@register.filter
def day_and_clock(moment, zone):
    """Return day and time of a moment in a time zone, in short."""
    return dates.day_and_clock(moment.astimezone(zone), get_language()) if moment else ""


@register.filter
def hour(time):
    """Return a time of day that belongs to no date, such as the start of a shift."""
    return dates.clock(time, get_language()) if time else ""


@register.filter
def amount(value):
    """Return an amount without needless zeros."""
    return dates.number(value) if value is not None else ""


@register.filter
def known(figure):
    """Return a figure of the air, or the word for one that is not known."""
    return dates.number(figure) if figure is not None else _("unknown")
