"""What the air says to somebody who wants to spray: the verdict, and Delta T in a figure."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from services.forms.sky import AirForm
from services.showing.verdict import gravest_first, wind_of
from treatments.gathering import product_facts
from treatments.models import Product
from treatments.rules.facts import Conditions
from treatments.rules.findings import Finding
from treatments.rules.psychrometrics import (
    AirUnusable,
    InversionSign,
    check_inversion,
    delta_t_c,
    station_hpa,
)
from treatments.rules.spraying import spray_verdict


@dataclass(frozen=True, slots=True)
class AirAsked:
    """The air as it was measured and seen, and what is to be sprayed in it."""

    conditions: Conditions
    signs: Collection[InversionSign] = ()
    solid_cloud: bool = False
    product: Product | None = None
    at_dusk: bool = False
    elevation_ft: float = 0


@dataclass(frozen=True, slots=True)
class AirLookedAt:
    """The verdict, the gravest first, and Delta T in degrees Celsius where it is known."""

    verdict: list[Finding]
    delta_t_c: float | None


def asked_of(form: AirForm, at: datetime) -> AirAsked:
    """Return the air that was typed at a moment and the sky that was ticked."""
    typed = form.cleaned_data
    return AirAsked(
        conditions=form.conditions(at),
        product=typed["product"],
        at_dusk=typed["at_dusk"],
        elevation_ft=typed["elevation_ft"] or 0,
        **form.sky(),
    )


def air_looked_at(asked: AirAsked) -> AirLookedAt:
    """Return what stands against spraying in an air; nothing means go."""
    labels = [product_facts(asked.product)] if asked.product else []
    found = spray_verdict(
        asked.conditions, labels, at_dusk=asked.at_dusk, elevation_ft=asked.elevation_ft
    )
    wind = wind_of(asked.conditions)
    found += check_inversion(asked.signs, wind, solid_cloud=asked.solid_cloud)
    return AirLookedAt(gravest_first(found), _delta_t(asked))


def _delta_t(asked: AirAsked) -> float | None:
    temperature, humidity = asked.conditions.temperature_f, asked.conditions.humidity_percent
    if temperature is None or humidity is None:
        return None
    celsius = (float(temperature) - 32) / 1.8
    try:
        return delta_t_c(celsius, float(humidity), station_hpa(asked.elevation_ft))
    except AirUnusable:
        return None  # nobody sprays in such an air, and the verdict says why
