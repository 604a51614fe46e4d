"""What the label allows of a product on a site, told on the basis that is asked for."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from clients.models import PlantGroup
from treatments.models import LabelRate, Pest, Product
from treatments.preparing import RateNotOnLabel, rates_of
from treatments.rules.findings import gettext_noop
from treatments.rules.labels.rates import rate_in
from treatments.rules.tanks import Limit
from treatments.rules.units import Basis

NOT_ON_LABEL = gettext_noop("The label of %(product)s gives no rate in %(basis)s for %(site)s.")


@dataclass(frozen=True, slots=True)
class LabelRange:
    """The lowest and the highest rate of a label on one basis.

    gallons_per_1000_sq_ft: the spray that the label gives, where it gives any
    """

    lowest: Decimal
    highest: Decimal
    basis: str
    gallons_per_1000_sq_ft: Decimal | None = None


def label_rates(product: Product, plant_group: str, pest: Pest | None) -> list[LabelRate]:
    """Return the rates of a label for plants and, where it is named, a pest."""
    if pest is not None:
        return rates_of(product, plant_group, pest)
    return [rate for rate in product.rates.all() if rate.plant_group == plant_group]


def label_range(product: Product, plant_group: str, basis: str, pest: Pest | None) -> LabelRange:
    """Return what the label allows on a basis.

    Where no pest is named the strictest of its rates holds.  Raise RateNotOnLabel where it gives
    none that can be told on that basis.
    """
    rates = label_rates(product, plant_group, pest)
    told = [
        (lowest, highest)
        for rate in rates
        if (lowest := rate_in(rate.minimum, rate.basis, basis)) is not None
        and (highest := rate_in(rate.maximum, rate.basis, basis)) is not None
    ]
    if not told:
        site = dict(PlantGroup.choices).get(plant_group, plant_group)
        raise RateNotOnLabel(NOT_ON_LABEL, product=product.name, basis=basis, site=site)
    strictest = min if pest is None else max
    return LabelRange(
        lowest=min(lowest for lowest, _highest in told),
        highest=strictest(highest for _lowest, highest in told),
        basis=basis,
        gallons_per_1000_sq_ft=_gallons(rates),
    )


def _gallons(rates: Iterable[LabelRate]) -> Decimal | None:
    told = [rate.gallons_per_1000_sq_ft for rate in rates if rate.gallons_per_1000_sq_ft]
    return max(told, default=None)


def other_limits(product: Product) -> tuple[Limit, ...]:
    """Return the most that an application may carry, where the label says so."""
    most = product.maximum_amount_per_application
    return () if most is None else (Limit(most, Basis(product.amount_basis)),)
