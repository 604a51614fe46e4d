"""What is asked of a mix: where, with what, by whom and with which sprayer."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from clients.models import Planting
from treatments.gathering import treated_area_of
from treatments.models import Applicator, Pest, Product, Sprayer


@dataclass(frozen=True, slots=True)
class Target:
    """What is sprayed: a planting, or ground or plants that are not in the book.

    gallons_per_plant: measured with water on a typical plant
    """

    plant_group: str
    planting: Planting | None = None
    area_sq_ft: Decimal | None = None
    plants: int | None = None
    gallons_per_plant: Decimal | None = None

    def area(self) -> Decimal | None:
        """Return the area in square feet: what was typed, else the planting's own."""
        if self.area_sq_ft is not None or self.planting is None:
            return self.area_sq_ft
        return treated_area_of(self.planting)

    def number_of_plants(self) -> int | None:
        """Return the plants: what was typed, else the planting's own."""
        if self.plants is not None or self.planting is None:
            return self.plants
        return self.planting.plants


@dataclass(frozen=True, slots=True)
class Asked:
    """A mix that is to be worked out.

    spray_gallons: finished spray, where somebody knows it; else it is worked out
    allowance_percent: a stated little more
    container_gallons, containers: emptied and rinsed into the tank
    """

    target: Target
    product: Product
    rate: Decimal
    basis: str
    sprayer: Sprayer
    day: date
    person: Applicator | None = None
    pest: Pest | None = None
    spray_gallons: Decimal | None = None
    allowance_percent: Decimal = Decimal(0)
    smallest_batch_gallons: Decimal = Decimal(0)
    adjuvant: Product | None = None
    adjuvant_rate: Decimal | None = None
    adjuvant_basis: str = "fl oz/gal"
    container_gallons: Decimal | None = None
    containers: int = 0


@dataclass(frozen=True, slots=True)
class AskedOfHose:
    """A setting of a hose-end sprayer or injector that is to be worked out.

    output_gal_per_1000_sq_ft: of water, where no calibration tells it
    settings: of the dial, fluid ounces in a gallon; flow in gallons a minute
    """

    target: Target
    product: Product
    rate: Decimal
    basis: str
    day: date
    sprayer: Sprayer | None = None
    person: Applicator | None = None
    pest: Pest | None = None
    output_gal_per_1000_sq_ft: Decimal | None = None
    settings: tuple[Decimal, ...] = ()
    flow_gal_per_min: Decimal | None = None
    minutes: Decimal | None = None
