"""The plain facts that the rules are given: copies of what the models hold, without a database."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum


class SignalWord(StrEnum):
    """The signal word as the label prints it [40CFR156-64]; NONE where it prints none."""

    DANGER_POISON = "DANGER POISON"
    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NONE = ""


class SeparationClass(StrEnum):
    """Which family an ingredient belongs to where products must be kept days apart."""

    OIL = "oil"
    SULFUR = "sulfur"
    SOAP = "soap"
    COPPER = "copper"
    CAPTAN = "captan"
    NONE = ""


class BloomRule(StrEnum):
    """What the label says of flowering plants and bees."""

    NONE = "none"
    NOT_WHILE_FORAGING = "not while bees forage"
    NOT_IN_BLOOM = "not in bloom"
    UNTIL_PETALS_FALL = "not until petals have fallen"


@dataclass(frozen=True, slots=True)
class IngredientFacts:
    """One active ingredient of a product and how it works."""

    name: str
    irac_group: str = ""
    frac_group: str = ""
    separation_class: SeparationClass = SeparationClass.NONE
    bee_hazard: str = "low"  # low, moderate, high
    moves_into_pollen: bool = False
    residual_days: int = 0
    stages_controlled: tuple[str, ...] = ()  # egg, larva, nymph, adult
    percent_by_weight: Decimal | None = None
    pounds_per_gallon: Decimal | None = None
    maximum_pounds_per_acre_per_year: Decimal | None = None  # from all products that hold it


@dataclass(frozen=True, slots=True)
class RespiratorNeed:
    """The parts of a respirator that a label asks for; the prefix of its approval is no part."""

    needs_organic_vapour: bool = False
    needs_particulate: bool = False
    filter_classes: frozenset[str] = frozenset({"N", "R", "P", "HE"})  # that the label allows
    needs_supplied_air: bool = False


@dataclass(frozen=True, slots=True)
class RateFacts:
    """A rate the label gives for a group of plants and, where it names one, a pest."""

    plant_group: str
    pest: str  # "" means any pest on that plant group
    minimum: Decimal
    maximum: Decimal
    basis: str  # a value of units.Basis


@dataclass(frozen=True, slots=True)
class ProductFacts:
    """What a label limits.  None means the label is silent, never that anything goes."""

    name: str
    registration_number: str
    ingredients: tuple[IngredientFacts, ...]
    rates: tuple[RateFacts, ...]
    formulation_code: str = "SL"
    signal_word: SignalWord = SignalWord.CAUTION
    restricted_use: bool = False
    certificate_category: str = ""
    organic_listed: bool = False
    reentry_hours: Decimal | None = None
    reentry_until_dry: bool = False
    preharvest_days: int | None = None
    minimum_interval_days: int | None = None
    maximum_applications_per_year: int | None = None
    maximum_amount_per_application: Decimal | None = None  # in `amount_basis`
    maximum_amount_per_year: Decimal | None = None  # in `amount_basis`
    amount_basis: str = "fl oz/1000 ft2"
    bloom_rule: BloomRule = BloomRule.NONE
    wind_maximum_mph: Decimal | None = None
    temperature_maximum_f: Decimal | None = None
    temperature_minimum_f: Decimal | None = None
    rainfast_hours: Decimal | None = None
    water_buffer_ft: Decimal | None = None
    well_buffer_ft: Decimal | None = None
    edible_buffer_ft: Decimal | None = None
    needs_agitation: bool = False
    needs_no_spreader: bool = False
    water_ph_maximum: Decimal | None = None
    mixing_rank: int | None = None
    protective_equipment: tuple[str, ...] = ()  # codes of protection.ITEMS
    respirator: RespiratorNeed = RespiratorNeed()
    separation_days: int | None = None  # between oil and sulfur, where the label gives its own
    plants_excluded: tuple[str, ...] = ()  # species the label forbids

    def label_key(self) -> str:
        """Return what tells one label from another: the registration number, or the name."""
        return self.registration_number or self.name

    def separation_classes(self) -> frozenset[SeparationClass]:
        """Return the families (oil, sulfur, ...) the product belongs to."""
        return frozenset(i.separation_class for i in self.ingredients if i.separation_class)


@dataclass(frozen=True, slots=True)
class PlantingFacts:
    """The planting to be treated and the place around it."""

    name: str
    plant_group: str
    species: str
    treated_area_sq_ft: Decimal
    bloom_start: str = ""  # "MM-DD"
    bloom_end: str = ""  # "MM-DD"
    attracts_bees: bool = False
    edible: bool = False
    harvest_on: date | None = None
    waxy_leaf: bool = False
    drought_stressed: bool = False
    organic_only: bool = False
    jurisdiction: str = ""
    bees_near: bool = False
    water_distance_ft: Decimal | None = None
    well_distance_ft: Decimal | None = None
    edible_distance_ft: Decimal | None = None
    common_name: str = ""
    production_site: bool = False  # nursery, greenhouse or farm: Worker Protection Standard


@dataclass(frozen=True, slots=True)
class PlannedApplication:
    """One week of a rotation on a day: the product, its rate, and what it is against."""

    week: int
    day: date
    product: ProductFacts
    pest: str
    rate: Decimal
    basis: str
    at_dusk: bool = False
    with_spreader: bool = False
    amount: Decimal | None = None  # product for the planting, in the unit of the store
    amount_per_1000_sq_ft: Decimal | None = None  # in the product's `amount_basis`
    water_ph: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PastApplication:
    """One application that a record shows on the same planting."""

    day: date
    product: ProductFacts
    amount_per_1000_sq_ft: Decimal | None = None


Applied = PlannedApplication | PastApplication


def in_date_order(
    planned: Iterable[PlannedApplication], history: Iterable[PastApplication]
) -> list[Applied]:
    """Return what was applied and what is to be, by day; on one day the record stands first."""
    applied: list[Applied] = [*history, *planned]
    return sorted(applied, key=lambda application: application.day)


@dataclass(frozen=True, slots=True)
class LotFacts:
    """A lot in the store: what is left of it and until when it is good."""

    product: str
    lot_number: str
    balance: Decimal
    expires_on: date | None


class Standing(StrEnum):
    """What a certificate lets its holder do."""

    CERTIFIED = "certified"
    SUPERVISED = "supervised"  # applies under the supervision of a certified applicator
    LIMITED = "limited"  # such as Florida's for commercial landscape maintenance


@dataclass(frozen=True, slots=True)
class CertificateFacts:
    """A certificate a person holds: where and for what, until when."""

    holder: str
    jurisdiction: str
    categories: frozenset[str]
    expires_on: date
    number: str = ""
    issued_on: date | None = None
    standing: Standing = Standing.CERTIFIED
    bars_restricted_use: bool = False
    own_property_only: bool = False
    suspended_from: date | None = None
    reinstated_on: date | None = None


@dataclass(frozen=True, slots=True)
class LearnerFacts:
    """Somebody without a certificate who applies: under whom, and how trained.

    supervisor: the certified person who is named, empty for nobody
    """

    name: str
    supervisor: str
    supervisor_is_certified: bool
    trained_on: date | None
    trained_until: date | None


@dataclass(frozen=True, slots=True)
class Conditions:
    """What was measured or is forecast at a place and time; None is unknown, never calm."""

    at: datetime
    wind_mph: Decimal | None = None
    wind_direction: str = ""
    temperature_f: Decimal | None = None
    humidity_percent: Decimal | None = None
    hours_to_rain: Decimal | None = None
