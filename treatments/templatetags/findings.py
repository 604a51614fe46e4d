"""Findings in the reader's language, for the margin of a page."""

import re

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import mark_safe
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from treatments.rules.findings import Severity
from treatments.rules.signal_words import in_both_languages
from treatments.saying import cited, told

register = template.Library()

KEY = re.compile(r"[A-Z0-9][A-Z0-9-]*")  # of SOURCES.md; a pest's threshold may name its own

SEVERITY_WORDS = {
    Severity.NOTE: _("note"),
    Severity.WARNING: _("warning"),
    Severity.REFUSAL: _("refused"),
}
MARK_WORDS = {
    "read": "",
    "confirmed": _("confirmed by the business"),
    "own": _("the business's own rule set, not verified"),
    "common practice": _("common practice"),
}
# In a sentence: figures joined by hyphens, such as a registration number, and a part in hundred.
JOINED = re.compile(r"(?<![\w.-])(?:\d+(?:-\d+)+(?![\w-])|\d+(?:\.\d+)? %)", re.ASCII)
WHOLE = r'<span class="unbroken">\g<0></span>'
NOT_VERIFIED = _("not verified")
SOURCE_WORDS = {"label": _("the label"), "common practice": _("common practice")}


register.filter("both_languages", in_both_languages)
register.filter("cited", cited, is_safe=True)


@register.filter
def with_whole_numbers(text):
    """Return a text whose registration and telephone numbers and parts in hundred do not break."""
    # What stands around them is escaped, and they hold figures and hyphens alone.
    return mark_safe(JOINED.sub(WHOLE, conditional_escape(text)))


@register.filter
def severity_word(finding):
    """Return the word for how a finding binds."""
    return SEVERITY_WORDS[Severity(finding.severity)]


@register.filter
def said(finding):
    """Return a finding's sentence."""
    return finding.say(gettext, told)


@register.filter
def remedy_said(finding):
    """Return what would make it lawful, or an empty text."""
    return finding.say_remedy(gettext, told)


@register.filter
def source_said(finding):
    """Return where a finding comes from: words, or the key of a source in brackets."""
    is_key = KEY.fullmatch(finding.source)
    return SOURCE_WORDS.get(finding.source, f"[{finding.source}]" if is_key else finding.source)


@register.filter
def mark_said(mark):
    """Return how far a fact of a rule set is sure, in words; empty for one that was read."""
    return MARK_WORDS.get(mark, NOT_VERIFIED)
