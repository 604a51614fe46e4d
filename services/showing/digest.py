"""What an owner is told each morning: what is late, due, lapsing, short, or did not go out."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from services.dispatching import today_at_yard
from services.models import DayAsked, Visit
from services.owing import reports_owed
from services.showing.outgoing import waiting_and_failed
from services.showing.people import people_shown
from services.showing.phones import late_phones
from treatments.lapsing import fit_tests_lapsing, protection_overdue, trainings_lapsing
from treatments.models import ApplicationRecord
from treatments.owing import OwedReport
from treatments.posting import signs_standing
from treatments.shopping import shopping_list

MOST_LINES = 20  # of a part; the page has them all
SOON = timedelta(days=7)  # what is to be bought by then is told of; our own choice


@dataclass(frozen=True, slots=True)
class DigestPart:
    """A heading, the lines under it, and how many more there are on the page."""

    heading: str
    lines: tuple[str, ...]

    def text(self) -> str:
        """Return the part as plain text."""
        shown = [f"- {line}" for line in self.lines[:MOST_LINES]]
        if (more := len(self.lines) - MOST_LINES) > 0:
            shown.append(_("and %(n)d more") % {"n": more})
        return "\n".join([self.heading, *shown])


@dataclass(frozen=True, slots=True)
class Digest:
    """What there is to say on a day, the gravest first."""

    day: date
    parts: tuple[DigestPart, ...]

    def text(self) -> str:
        """Return all of it as plain text."""
        texts = [part.text() for part in self.parts]
        return "\n\n".join(texts or [_("Nothing is late, due or short any more.")])


def digest_of(owner: User, now: datetime) -> Digest:
    """Return what an owner is told at a moment, in the language that is spoken now."""
    today = today_at_yard(now)
    owed = reports_owed(owner, now)
    parts = [
        (_("Records that are late"), _owed(report for report in owed if report.is_late)),
        (_("Records due today"), _owed(report for report in owed if report.is_due_today)),
        (_("Visits whose last day is over"), _late_visits(today)),
        (_("Clients who ask for another day"), _days_asked()),
        (_("Certificates"), _certificates(today)),
        (_("Trainings of those who work under supervision"), _trainings(today)),
        (_("Fit tests of respirators"), _fit_tests(today)),
        (_("Protective equipment to be replaced"), _protection(today)),
        (_("To be bought within a week"), _to_buy(today)),
        (_("Signs whose time is over"), _signs(now)),
        (_("Did not go out"), _failed()),
        (_("Phones that have not sent for days"), _phones(now)),
    ]
    found = [DigestPart(heading, tuple(lines)) for heading, lines in parts]
    return Digest(today, tuple(part for part in found if part.lines))


def _day(day: date | None) -> str:
    return date_format(day, "SHORT_DATE_FORMAT") if day else "–"


def _owed(reports: Iterator[OwedReport]) -> Iterator[str]:
    for report in reports:
        told = {"place": report.place, "what": report.what, "crew": report.crew, "due": report.due}
        yield _("%(place)s: %(what)s, %(crew)s; to be written by %(due)s") % told


def _late_visits(today: date) -> Iterator[str]:
    visits = Visit.objects.open().filter(latest__lt=today)
    visits = visits.select_related("course__property", "course__rotation", "rotation_week")
    for visit in visits.order_by("latest", "pk"):
        yield _("%(place)s: %(rotation)s, week %(week)s; the last day was %(day)s") % {
            "place": visit.course.property.name,
            "rotation": visit.course.rotation.name,
            "week": visit.week,
            "day": _day(visit.latest),
        }


def _days_asked() -> Iterator[str]:
    asked = DayAsked.objects.open().select_related("visit__course__property__client")
    for each in asked:
        place = each.visit.course.property
        yield _("%(client)s, %(place)s: planned for %(day)s; %(words)s") % {
            "client": place.client,
            "place": place.name,
            "day": _day(each.visit.planned),
            "words": _day(each.day) if each.day else each.words,
        }


def _certificates(today: date) -> Iterator[str]:
    for shown in people_shown(today).applicators:
        for held in shown.certificates:
            if held.is_urgent:
                certificate = held.certificate
                expires = _day(certificate.expires_on)
                yield f"{shown.applicator}, {certificate.number}: {held.words} ({expires})"


def _trainings(today: date) -> Iterator[str]:
    for applicator, until, words in trainings_lapsing(today):
        yield f"{applicator}: {words} ({_day(until)})"


def _fit_tests(today: date) -> Iterator[str]:
    for test, until, words in fit_tests_lapsing(today):
        yield f"{test.applicator}, {test.respirator}: {words} ({_day(until)})"


def _protection(today: date) -> Iterator[str]:
    for each in protection_overdue(today):
        yield _("%(person)s: %(item)s, to be replaced by %(day)s") % {
            "person": each.applicator,
            "item": each.item,
            "day": _day(each.replace_by),
        }


def _to_buy(today: date) -> Iterator[str]:
    for line in shopping_list(today, until=today + SOON):
        yield _("%(product)s: %(amount)s %(unit)s, by %(day)s") % {
            "product": line.product,
            "amount": f"{line.to_buy.amount.normalize():f}",
            "unit": line.product.get_stock_unit_display(),
            "day": _day(line.to_buy.buy_by),
        }


def _signs(now: datetime) -> Iterator[str]:
    for sign in signs_standing(ApplicationRecord.objects.all(), now):
        if sign.may_come_down_at(now):
            yield _("%(place)s: put up on %(day)s") % {
                "place": sign.place.name,
                "day": _day(sign.posted_at.astimezone(sign.place.zone()).date()),
            }


def _failed() -> Iterator[str]:
    failed, _waiting = waiting_and_failed()
    for each in failed:
        why = _(each.row.last_error)
        yield f"{each.row.get_kind_display()}, {each.reader or '–'}: {why}"


def _phones(now: datetime) -> Iterator[str]:
    for phone in late_phones(now):
        yield f"{phone.device.name}, {phone.device.person.get_full_name()}"
