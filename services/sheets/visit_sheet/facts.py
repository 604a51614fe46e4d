"""What a crew's visit sheets say; nothing is looked up while they are drawn."""

from dataclasses import dataclass
from datetime import date, datetime

from services.sheets.charts import DayRun, PlantingShape
from services.sheets.layout import Imprint


@dataclass(frozen=True, slots=True)
class Person:
    """A person of the crew with the certificate that the work asks for."""

    name: str
    certificate: str = ""


@dataclass(frozen=True, slots=True)
class LoadLine:
    """A product of one lot that must be on the truck."""

    product: str
    registration_number: str
    lot: str
    amount: str
    expires_on: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class SignLine:
    """Signs of one kind to take along."""

    sign: str
    count: int
    stops: str = ""


@dataclass(frozen=True, slots=True)
class EmergencyContacts:
    """Whom to reach near this day's work."""

    supervisor: str = ""
    supervisor_phone: str = ""
    hospital: str = ""


@dataclass(frozen=True, slots=True)
class CrewDay:
    """The first page: a crew's day, what goes on the truck, whom to call."""

    crew: str
    day: date
    people: tuple[Person, ...]
    truck: str
    sprayer: str
    run: DayRun
    load: tuple[LoadLine, ...] = ()
    protection: tuple[str, ...] = ()
    signs: tuple[SignLine, ...] = ()
    water: str = ""
    notes: tuple[str, ...] = ()
    contacts: EmergencyContacts = EmergencyContacts()


@dataclass(frozen=True, slots=True)
class StopPlace:
    """Where a stop is, when, and what must be minded there."""

    address: str
    town: str
    client: str
    phone: str = ""
    begins_at: datetime | None = None
    ends_at: datetime | None = None
    minded: tuple[str, ...] = ()
    access: str = ""
    visit_address: str = ""
    unverified_place: str = ""


@dataclass(frozen=True, slots=True)
class StopTarget:
    """What is treated and against what."""

    week: int
    weeks: int
    plantings: tuple[PlantingShape, ...]
    area: str
    pest: str
    purpose: str = ""


@dataclass(frozen=True, slots=True)
class StopProduct:
    """The product, as its label names it, and the lot it is taken from."""

    name: str
    registration_number: str
    active_ingredient: str
    mode_of_action: str
    signal_word: str
    lot: str
    expires_on: date | None = None
    restricted_use: bool = False


@dataclass(frozen=True, slots=True)
class Tank:
    """Tanks filled alike: how many, the product to measure and the water for each."""

    count: int
    product: str
    water: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Mix:
    """What is mixed: tanks, totals, the rate with the label's own, the order of filling."""

    tanks: tuple[Tank, ...]
    total_product: str
    total_water: str
    rate: str
    label_rate: str = ""
    order: tuple[str, ...] = ()
    sprayer_setting: str = ""


@dataclass(frozen=True, slots=True)
class Protection:
    """What is worn, item by item, and the parts of the respirator."""

    items: tuple[str, ...]
    respirator: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Limits:
    """What the weather must keep to, each in words; an empty one has no limit on the label."""

    wind: str = ""
    direction: str = ""
    temperature: str = ""
    humidity: str = ""
    rain: str = ""


@dataclass(frozen=True, slots=True)
class Leaving:
    """What holds after the crew has left: keeping off, the sign, when it comes down."""

    reentry: str
    posting: str = ""
    remove_sign_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """A field of the record that only the rules of the place want: column, label, who asks."""

    name: str
    label: str
    hint: str
    most: int  # signs


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop on one page; without a product nothing is sprayed there."""

    place: StopPlace
    target: StopTarget
    product: StopProduct | None = None
    mix: Mix = Mix((), "", "", "")
    protection: Protection = Protection(())
    limits: Limits = Limits()
    leaving: Leaving = Leaving("")
    findings: tuple[str, ...] = ()
    asked: tuple[Asked, ...] = ()


@dataclass(frozen=True, slots=True)
class VisitSheets:
    """A crew's paper for a day: the page of the day, then a page a stop."""

    imprint: Imprint
    day: CrewDay
    stops: tuple[Stop, ...]
