"""The weeks of a proposed rotation as rows, and why each has no other product."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.urls import reverse
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _

from treatments.models import Product
from treatments.proposing import Proposed
from treatments.rules.composing import PinKind, Plan, PlanWeek
from treatments.rules.findings import Finding
from treatments.views.asking import Address
from treatments.views.facts import plain
from treatments.views.turns import (
    Turn,
    mode_of,
    residual_days,
    residue_of,
    residue_words,
    stages_of,
)

CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Other:
    """Another product for a week: what speaks against it, and where it is taken."""

    product: Product
    findings: list[Finding]
    take: str
    is_own: bool


@dataclass(frozen=True, slots=True)
class Why:
    """What a week could have instead: what nothing bars first."""

    lawful: list[Other]
    barred: list[Other]


@dataclass(frozen=True, slots=True)
class ProposedWeek:
    """A week of a proposal: as a rotation shows it, and what can be done with it."""

    turn: Turn
    key: str
    state: str = ""
    fix: str = ""
    free: str = ""
    skip: str = ""
    ask_why: str = ""
    why: Why | None = None
    why_rate: Finding | None = None


def dollars(amount: Decimal) -> str:
    """Return an amount of money in words."""
    return _("%(amount)s USD") % {"amount": number_format(amount.quantize(CENT), 2)}


def proposed_week(
    proposed: Proposed,
    plan: Plan,
    week: PlanWeek,
    findings: Sequence[Finding],
    address: Address,
    *,
    key: str,
    is_asked: bool,
    shows_prices: bool,
) -> ProposedWeek:
    """Return a week of a proposal as the page shows it.

    key: the plan's number, a dash, and the week's
    is_asked: whether all products stand under it
    shows_prices: whether the reader is shown what it costs
    """
    turn = _turn(proposed, week, findings, shows_prices)
    kind = week.pin.kind if week.pin else None
    if kind is PinKind.DONE:
        return ProposedWeek(turn, key, state=_("done, as the records show"))
    if week.day < proposed.asked.today:
        return ProposedWeek(turn, key, state=_("over, without a visit"))
    number, _dash, _week_number = key.partition("-")
    return ProposedWeek(
        turn,
        key,
        state=_state(kind),
        fix=address.fixing(week.week, week.offer.code) if week.offer and kind is None else "",
        free=address.freeing(week.week) if kind else "",
        skip=address.skipping(week.week) if kind is not PinKind.SKIPPED else "",
        ask_why=address.asking_why(int(number), week.week),
        why=why_of(proposed, plan, week, address) if is_asked else None,
        why_rate=week.offer.why_rate if week.offer else None,
    )


def _state(kind: PinKind | None) -> str:
    if kind is PinKind.FIXED:
        return _("fixed")
    return _("left out") if kind is PinKind.SKIPPED else ""


def _turn(
    proposed: Proposed, week: PlanWeek, findings: Sequence[Finding], shows_prices: bool
) -> Turn:
    day = date_format(week.day, "j M Y")
    if week.pin and week.pin.applied:
        return Turn(week.week, day, week.pin.applied.product.name, findings=findings)
    if week.offer is None or week.application is None:
        return Turn(week.week, day, _("no visit"), findings=findings)
    product = proposed.products[week.offer.code]
    scheme, mode = mode_of(product)
    residual = residual_days(product)
    days = proposed.asked.days()
    length = (days[-1] - days[0]).days + 7
    return Turn(
        number=week.week,
        dates=day,
        product=product.name,
        url=reverse("treatments:product", args=[product.pk]),
        rate=_rate(week),
        purpose=dollars(week.cost) if shows_prices else "",
        scheme=scheme,
        mode=mode,
        stages=stages_of(product),
        residue=residue_of((week.day - days[0]).days, residual, length),
        residue_words=residue_words(residual),
        findings=findings,
    )


def _rate(week: PlanWeek) -> str:
    if week.offer is None or week.application is None:
        return ""
    rate = f"{plain(week.offer.rate)} {week.offer.basis}"
    at_dusk = _("at dusk")
    return f"{rate}, {at_dusk}" if week.application.at_dusk else rate


def why_of(proposed: Proposed, plan: Plan, week: PlanWeek, address: Address) -> Why:
    """Return all products for a week of a plan, each with what speaks against it there."""
    barred = proposed.answer.barred
    own = week.offer.code if week.offer else ""
    others = [
        (
            code,
            Other(
                product=proposed.products[code],
                findings=[] if code == own else proposed.answer.why_not(plan, week.week, code),
                take=address.fixing(week.week, code),
                is_own=code == own,
            ),
        )
        for code in (offer.code for offer in proposed.answer.season.offers)
    ]
    return Why(
        lawful=[other for code, other in others if (week.week, code) not in barred],
        barred=[other for code, other in others if (week.week, code) in barred],
    )
