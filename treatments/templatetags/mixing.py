"""Amounts, steps and sources of a mix in the reader's language."""

from decimal import Decimal

from django import template
from django.utils.translation import gettext

from treatments.saying import told
from treatments.templatetags.findings import SOURCE_WORDS

register = template.Library()


@register.filter
def step_said(step):
    """Return a step of filling or rinsing as a sentence."""
    return step.say(gettext)


@register.filter
def spoken(word):
    """Return a marked word or sentence of the rules in the reader's language."""
    return gettext(word)


@register.filter
def to_places(amount, places=2):
    """Return an amount rounded for reading, without needless zeros."""
    return told(round(Decimal(amount), places))


@register.filter
def percent_off(portion):
    """Return by how many per cent a measured amount is off the exact one, with its sign."""
    percent = round(portion.relative_error * 100, 1)
    return f"{percent:+f} %" if percent else "0 %"


@register.filter
def key_said(source):
    """Return a source in words, or its key in brackets; nothing where there is none."""
    return SOURCE_WORDS.get(source, f"[{source}]" if source else "")
