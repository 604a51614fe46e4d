"""The mix in words: what is measured into each tank, and in which order it is filled."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext as _

from services.mixing import Mixing
from services.models import Visit
from services.sheets import visit_sheet as sheet
from services.sheets.dates import number
from treatments.mixing import LabelRange, SharedMix
from treatments.models import Product, Sprayer
from treatments.rules.filling import Ingredient, NoPlaceInTank, Role, Step, filling_steps
from treatments.rules.measuring import Portion
from treatments.rules.tanks import Tank

SAID_IN_HEADINGS = 2  # the first steps, to read the label and to dress, head the lists


def printed_mix(visit: Visit, mixing: Mixing) -> sheet.Mix:
    """Return the mix as the sheet shows it, in the language that is spoken now."""
    week = visit.rotation_week
    rate = f"{number(week.rate)} {week.basis}" if week.rate else ""
    mix = mixing.mix
    if mix is None:
        return sheet.Mix((), "–", "–", rate, order=(mixing.why_not(),))
    return sheet.Mix(
        tanks=tuple(_tanks(mix)),
        total_product=str(mix.product),
        total_water=_gal(mix.water_gallons()),
        rate=rate,
        label_rate=_label_rate(mix.label),
        order=tuple(_order_of_filling(visit, mix, mixing.sprayer)),
        sprayer_setting=_setting(mixing),
    )


def _tanks(mix: SharedMix) -> Iterable[sheet.Tank]:
    for _key, alike in groupby(mix.tanks(), key=_looks):
        tanks = list(alike)
        tank = tanks[0]
        yield sheet.Tank(
            len(tanks), str(tank.product.measured), _gal(tank.water_gallons), _tank_note(tank)
        )


def _looks(tank: Tank) -> tuple:
    portions = (tank.product, *tank.adjuvants)
    return _gal(tank.water_gallons), *(str(portion.measured) for portion in portions)


def _tank_note(tank: Tank) -> str:
    beside = [f"{portion.measured} {portion.name}" for portion in tank.adjuvants]
    return " + ".join([_tool(tank.product), *beside])


def _tool(portion: Portion) -> str:
    name = _(portion.tool.name)
    return name if portion.fillings == 1 else f"{portion.fillings} × {name}"


def _gal(gallons: Decimal) -> str:
    return _("%(gallons)s gal") % {"gallons": number(round(gallons, 2))}


def _label_rate(label: LabelRange) -> str:
    if label.lowest == label.highest:
        return f"{number(label.highest)} {label.basis}"
    return _("%(lowest)s to %(highest)s %(basis)s") % {
        "lowest": number(label.lowest),
        "highest": number(label.highest),
        "basis": label.basis,
    }


def _order_of_filling(visit: Visit, mix: SharedMix, sprayer: Sprayer | None) -> list[str]:
    """Return the steps of filling; where the last tank takes less, both amounts stand in a step."""
    tanks = mix.tanks()
    try:
        first, last = (_steps(visit, sprayer, tank) for tank in (tanks[0], tanks[-1]))
    except NoPlaceInTank as reason:
        return [reason.say(_)]
    steps = list(zip(first, last, strict=True))[SAID_IN_HEADINGS:]
    return [_both(*pair) for pair in steps]


def _both(first: Step, last: Step) -> str:
    facts = {
        name: fact
        if str(fact) == str(last.facts[name])
        else _("%(first)s (last tank %(last)s)") % {"first": fact, "last": last.facts[name]}
        for name, fact in first.facts.items()
    }
    return Step(first.number, first.sentence, facts).say(_)


def _steps(visit: Visit, sprayer: Sprayer | None, tank: Tank) -> Sequence[Step]:
    week = visit.rotation_week
    things = [_ingredient(week.sprayed_product(), tank.product)]
    if week.adjuvant is not None:
        things += [_ingredient(week.adjuvant, portion) for portion in tank.adjuvants]
    return filling_steps(
        gallons=tank.gallons,
        water_gallons=tank.water_gallons,
        ingredients=things,
        has_agitator=bool(sprayer and sprayer.has_agitation),
    )


def _ingredient(product: Product, portion: Portion) -> Ingredient:
    is_adjuvant = product.kind == Product.Kind.ADJUVANT
    return Ingredient(
        name=product.name,
        formulation=Role.SURFACTANT if is_adjuvant else product.formulation_code,
        measured=portion.measured,
        mixing_rank=product.mixing_rank,
        needs_agitation=product.needs_agitation,
    )


def _setting(mixing: Mixing) -> str:
    sprayer, calibration = mixing.sprayer, mixing.calibration
    if sprayer is None:
        return ""
    if calibration is None:
        return _("%(sprayer)s, not calibrated; spray by the gallons of the label") % {
            "sprayer": sprayer.name
        }
    parts = [sprayer.name, calibration.nozzle]
    if calibration.pressure_psi is not None:
        parts.append(_("%(pressure)s psi") % {"pressure": number(calibration.pressure_psi)})
    output = _("%(gallons)s gal on 1,000 sq ft") % {
        "gallons": number(calibration.gallons_per_1000_sq_ft)
    }
    return ", ".join([*parts, output])
