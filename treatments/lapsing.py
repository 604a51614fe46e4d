"""How long a certificate, a training or a fit test holds, in words, and whom that concerns."""

from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from treatments.models import Applicator, FitTest, ProtectionIssued
from treatments.rules.table_files import read_toml


def expiry_in_words(expires_on: date, today: date) -> tuple[str, bool]:
    """Return how long something holds, in words, and whether it lapses within 60 days.

    The steps of 60, 30 and 7 days are common practice.
    """
    days = (expires_on - today).days
    if days < 0:
        return _("lapsed"), True
    if days == 0:
        return _("lapses today"), True
    steps = [step for step in read_toml("certificates")["lapse_days"] if days <= step]
    if not steps:
        return _("valid"), False
    words = ngettext("lapses in %(days)s day", "lapses in %(days)s days", days)
    return words % {"days": days}, True


def fit_test_in_words(test: FitTest, today: date) -> tuple[str, bool]:
    """Return how a fit test stands, in words, and whether that asks for a step."""
    until = test.holds_until()
    return expiry_in_words(until, today) if until else (_("does not fit"), True)


def trainings_lapsing(today: date) -> Iterator[tuple[Applicator, date, str]]:
    """Yield who works under supervision with a training that lapses, until when, and in words."""
    for applicator in Applicator.objects.filter(trained_on__isnull=False):
        until = applicator.trained_until()
        words, is_urgent = expiry_in_words(until, today) if until else ("", False)
        if until and is_urgent:
            yield applicator, until, words


def fit_tests_lapsing(today: date) -> Iterator[tuple[FitTest, date, str]]:
    """Yield the newest fit test of a person's respirator that lapses, until when, and in words."""
    newest: dict[tuple[int, str], FitTest] = {}
    for test in FitTest.objects.select_related("applicator").order_by("tested_on", "pk"):
        newest[test.applicator_id, test.respirator.casefold()] = test
    for test in newest.values():
        until = test.holds_until()
        words, is_urgent = fit_test_in_words(test, today)
        if until and is_urgent:
            yield test, until, words


def protection_overdue(today: date) -> Iterator[ProtectionIssued]:
    """Yield the equipment that is out and was to be replaced before a day."""
    out = ProtectionIssued.objects.filter(returned_on__isnull=True, replace_by__lt=today)
    yield from out.select_related("applicator").order_by("replace_by", "pk")
