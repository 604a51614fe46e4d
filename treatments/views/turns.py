"""The weeks of a rotation as rows: dates, product and rate, group, stages, residue, findings."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from treatments.checking import days_of_weeks
from treatments.models import Product, RotationWeek
from treatments.models.products import STAGES
from treatments.rules.findings import Finding, refuses
from treatments.rules.rotation_checks import by_week
from treatments.views.facts import plain


@dataclass(frozen=True, slots=True)
class Stage:
    """A life stage, and whether the product reaches it."""

    word: object
    is_reached: bool


@dataclass(frozen=True, slots=True)
class Residue:
    """Where in the weeks of a rotation a residue lies, in percent of their length."""

    starts_at: int
    lasts: int


@dataclass(frozen=True, slots=True)
class Turn:
    """What `parts/_rotation_week.html` shows of a week."""

    number: int
    dates: str
    product: str
    url: str = ""
    rate: str = ""
    mix_url: str = ""
    purpose: str = ""
    scheme: str = ""
    mode: str = "–"
    stages: Sequence[Stage] = ()
    residue: Residue | None = None
    residue_words: str = ""
    findings: Sequence[Finding] = field(default_factory=list)

    @property
    def is_refused(self) -> bool:
        """Whether the week may not stand as it is."""
        return refuses(list(self.findings))


def turns_of(
    weeks: Iterable[RotationWeek], first_day: date, findings: Iterable[Finding], *, dated: bool
) -> list[Turn]:
    """Return the weeks as rows; without a course they have no dates, only days between."""
    days = list(days_of_weeks(weeks, first_day))
    last = days[-1][1] + timedelta(days=7) if days else first_day
    length = (last - first_day).days or 1
    noted = by_week(findings)
    return [
        _turn(week, day, (day - first_day).days, length, noted.get(week.week, []), dated=dated)
        for week, day in days
    ]


def _turn(week, day: date, start: int, length: int, findings, *, dated: bool) -> Turn:
    when = span_of(week, day) if dated else days_after(week)
    if week.product is None:
        return Turn(
            number=week.week,
            dates=when,
            product=week.get_step_display(),
            purpose=week.purpose,
            findings=findings,
        )
    scheme, mode = mode_of(week.product)
    residual = residual_days(week.product)
    return Turn(
        number=week.week,
        dates=when,
        product=week.product.name,
        url=reverse("treatments:product", args=[week.product_id]),
        rate=rate_of(week),
        mix_url=f"{reverse('treatments:mix')}?week={week.pk}" if week.pk else "",
        purpose=week.purpose,
        scheme=scheme,
        mode=mode,
        stages=stages_of(week.product),
        residue=residue_of(start, residual, length),
        residue_words=residue_words(residual),
        findings=findings,
    )


def span_of(week: RotationWeek, day: date) -> str:
    """Return the days on which a week may be sprayed, from the earliest to the latest."""
    if week.week == 1:
        return date_format(day, "SHORT_DATE_FORMAT")
    first = day - timedelta(days=week.planned_days - week.minimum_days)
    last = day + timedelta(days=week.maximum_days - week.planned_days)
    begins, ends = date_format(first, "MONTH_DAY_FORMAT"), date_format(last, "SHORT_DATE_FORMAT")
    return f"{begins} – {ends}"


def days_after(week: RotationWeek) -> str:
    """Return how long after the visit before a week comes."""
    if week.week == 1:
        return _("the first day")
    return _("%(least)s to %(most)s days after the visit before") % {
        "least": week.minimum_days,
        "most": week.maximum_days,
    }


def rate_of(week: RotationWeek) -> str:
    """Return a week's rate with its basis, spreader-sticker and hour."""
    parts = [f"{plain(week.rate)} {week.basis}"]
    if week.adjuvant:
        parts.append(_("with %(name)s") % {"name": week.adjuvant.name})
    if week.at_dusk:
        parts.append(_("at dusk"))
    return ", ".join(parts)


def mode_of(product: Product) -> tuple[str, str]:
    """Return the list and the groups of a product's modes of action, such as IRAC and 10A."""
    ingredients = [content.ingredient for content in product.contents.all()]
    irac = dict.fromkeys(each.irac_group for each in ingredients if each.irac_group)
    frac = dict.fromkeys(each.frac_group for each in ingredients if each.frac_group)
    scheme = " ".join(name for name, groups in (("IRAC", irac), ("FRAC", frac)) if groups)
    return scheme, " + ".join([*irac, *frac]) or "–"


def stages_of(product: Product) -> list[Stage]:
    """Return the four life stages, those that any ingredient of a product reaches marked."""
    reached = {
        stage
        for content in product.contents.all()
        for stage in content.ingredient.stages_controlled
    }
    return [Stage(word, code in reached) for code, word in STAGES]


def residual_days(product: Product) -> int:
    """Return how long what is left on the leaf works, by the longest of the ingredients."""
    return max((each.ingredient.residual_days for each in product.contents.all()), default=0)


def residue_words(days: int) -> str:
    """Return the same in words."""
    if not days:
        return _("works while it is wet; leaves no residue that works")
    return ngettext(
        "what is left on the leaf works about %(days)s day",
        "what is left on the leaf works about %(days)s days",
        days,
    ) % {"days": days}


def residue_of(start: int, days: int, length: int) -> Residue | None:
    """Return where in so many days a residue lies that begins on one of them; None for none."""
    if not days:
        return None
    return Residue(100 * start // length, 100 * min(days, length - start) // length)
