"""The parts of a mix: the job, what is added, its limits, and the tank that comes of it."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from treatments.rules.findings import Finding
from treatments.rules.measuring import Portion
from treatments.rules.mixing import exact_product
from treatments.rules.units import Basis, Measure, Number, Unit, exact_convert


@dataclass(frozen=True, slots=True)
class Limit:
    """The most a label allows, on any basis that counts the product as its rate does."""

    maximum: Decimal
    basis: Basis


@dataclass(frozen=True, slots=True)
class Adjuvant:
    """Something mixed in beside the product, with its own rate and limit."""

    name: str
    rate: Decimal
    basis: Basis
    maximum_rate: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Tank:
    """One filling of the sprayer: product, adjuvants and water make `gallons`."""

    gallons: Decimal
    water_gallons: Decimal
    product: Portion
    adjuvants: tuple[Portion, ...] = ()


@dataclass(frozen=True, slots=True)
class MixPlan:
    """What a job takes, tank by tank.

    total: the exact product, in the unit of the rate
    total_measured: what the tanks' measured amounts come to, in the unit of the rate
    total_from_store: the same in the unit the store counts in
    """

    spray_gallons: Decimal
    full_tanks: int
    tanks: tuple[Tank, ...]
    total: Measure
    total_measured: Measure
    total_from_store: Measure
    findings: list[Finding]


@dataclass(frozen=True, slots=True)
class Job:
    """The spray of a job in gallons and, where it is known, the area in square feet."""

    spray: Fraction
    area: Fraction | None

    def area_of(self, gallons: Fraction) -> Fraction | None:
        return None if self.area is None else self.area * gallons / self.spray

    def product_in(self, rate: Number, basis: Basis, gallons: Fraction) -> Fraction:
        """Return the product in so much of the job's spray, in the unit of the basis."""
        return exact_product(rate, basis, gallons=gallons, area_sq_ft=self.area_of(gallons))


@dataclass(frozen=True, slots=True)
class Addition:
    """The product or an adjuvant as it goes into each tank."""

    name: str
    rate: Decimal
    basis: Basis
    limits: tuple[Limit, ...]
    minimum_rate: Decimal | None = None

    def ceiling_in(self, job: Job, gallons: Fraction) -> Fraction | None:
        """Return the most that all limits allow in so much spray, in the unit of the rate."""
        ceilings = [limit_in(job, limit, gallons, self.unit) for limit in self.limits]
        return min((c for c in ceilings if c is not None), default=None)

    @property
    def unit(self) -> Unit:
        """The unit of the rate."""
        return self.basis.amount_unit


def limit_in(job: Job, limit: Limit, gallons: Fraction, unit: Unit) -> Fraction | None:
    """Return what a limit allows in so much of a job's spray, or None where the area is unknown.

    gallons: of finished spray; unit: what to count the product in

    Raise UnitMismatch when the limit counts by weight what the rate counts by volume.

    >>> job = Job(spray=Fraction(10), area=None)
    >>> limit_in(job, Limit(Decimal(2), Basis("fl oz/gal")), Fraction(4), Unit.FLUID_OUNCE)
    Fraction(8, 1)
    """
    if job.area is None and not limit.basis.is_concentration:
        return None
    allowed = job.product_in(limit.maximum, limit.basis, gallons)
    return exact_convert(allowed, limit.basis.amount_unit, unit)
