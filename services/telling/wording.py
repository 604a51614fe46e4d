"""What a notice says before a visit, in English and Spanish.

It says all that Pennsylvania asks for: the day, the site, the earliest start and the latest
finish, brand, EPA number and active ingredient, and who to ask [PA-128-112].  New York wants it
in English and Spanish [NY-ECL-33], so whoever has no language in the book gets both.
"""

from dataclasses import dataclass
from datetime import date, datetime, time

from django.utils import translation
from django.utils.translation import gettext as _

from clients.models import Client, Neighbour
from services.models import Crew, Visit
from services.sheets.dates import clock, long_day
from treatments.gathering import product_facts
from treatments.models import Business, Product

BOTH = ("en", "es")
LATEST_FINISH = time(23, 59)  # of the day: less than 24 hours after any start [PA-128-112]


@dataclass(frozen=True, slots=True)
class NoticeWords:
    """A notice in one language: its subject, and its facts by their names in order."""

    language: str
    subject: str
    opening: str
    facts: tuple[tuple[str, str], ...]
    close: str

    @property
    def text(self) -> str:
        """The notice as the text of a mail."""
        lines = "\n".join(f"{name}: {value}" for name, value in self.facts if value)
        return f"{self.opening}\n\n{lines}\n\n{self.close}\n"


def languages_of(person: Client | Neighbour) -> tuple[str, ...]:
    """Return the languages in which somebody is told: the client's own, else both."""
    return (person.language,) if isinstance(person, Client) else BOTH


def notice_in(language: str, visit: Visit) -> NoticeWords:
    """Return what is told of a visit on its planned day in a language."""
    place, business = visit.course.property, Business.of_this_book()
    with translation.override(language):
        known = {
            "address": place.address(),
            "day": long_day(visit.planned, language),
            "business": ", ".join(part for part in (business.name, business.phone) if part),
            "pest": visit.course.rotation.pest.name_in(language),
        }
        return NoticeWords(
            language=language,
            subject=_("Notice of a treatment at %(address)s on %(day)s") % known,
            opening=_("We plan to treat plants at %(address)s on %(day)s, against %(pest)s.")
            % known,
            facts=(*_hours(visit, language), *_product(visit.rotation_week.product), *_we()),
            close=_(
                "If the weather does not allow it, we tell you of another day before we come. "
                "Questions, or a wish to be told otherwise: %(business)s"
            )
            % known,
        )


def _hours(visit: Visit, language: str) -> list[tuple[str, str]]:
    starts = earliest_start(visit)
    return [
        (_("Date"), long_day(visit.planned, language)),
        (_("Place"), visit.course.property.address()),
        (_("Earliest start"), clock(starts, language)),
        (_("Latest finish"), clock(datetime.combine(visit.planned, LATEST_FINISH), language)),
    ]


def earliest_start(visit: Visit, day: date | None = None) -> datetime:
    """Return when the first crew begins its day, which is before when nobody treats."""
    shifts = Crew.objects.filter(retired=False).values_list("shift_starts", flat=True)
    first = min(shifts, default=time())
    return datetime.combine(day or visit.planned, first, visit.course.property.zone())


def _product(product: Product | None) -> list[tuple[str, str]]:
    if product is None:
        return []
    names = ", ".join(each.name for each in product_facts(product).ingredients)
    number = product.epa_registration_number
    numbered = _("%(product)s (EPA Reg. No. %(number)s)")
    told = numbered % {"product": product.name, "number": number} if number else product.name
    return [(_("Product"), told), (_("Active ingredient"), names)]


def _we() -> list[tuple[str, str]]:
    business = Business.of_this_book()
    return [
        (_("Business"), business.name),
        (_("Telephone"), business.phone),
        (_("Business license number"), business.licence_number),
    ]
