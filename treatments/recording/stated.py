"""What a person states of an application; all else the record copies for itself."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any, Required, TypedDict

from clients.models import Planting
from treatments.models import Applicator, Lot, Pest, Product, Sprayer
from treatments.rules.facts import Conditions


class Stated(TypedDict, total=False):
    """What was done, by whom, with what and in what weather.

    product_amount is in the unit the product is kept in, mix_gallons in US gallons of finished
    spray; rate is in the unit of rate_basis, a value of units.Basis; treated_area_sq_ft and plants
    replace those of the planting; what is said of the label replaces what the product says by now;
    flags are added to the ones found here.
    """

    planting: Required[Planting]
    product: Required[Product]
    pest: Required[Pest]
    lot: Required[Lot | None]
    applicator: Required[Applicator]
    rate: Required[Decimal]
    rate_basis: Required[str]
    product_amount: Required[Decimal]
    mix_gallons: Required[Decimal]
    started_at: Required[datetime]
    done_at: Required[datetime]
    captured_at: datetime
    from_paper: bool
    supervisor: Applicator
    sprayer: Sprayer
    conditions: Conditions
    weather: str
    treated_area_sq_ft: Decimal
    plants: int
    posted_at: datetime
    posting: str
    notices: str
    incident: str
    disposal: str
    note: str
    dilution: str
    adjuvant: str
    method: str
    protective_equipment: str
    supplier_name: str
    recommender_name: str
    permit_number: str
    insurance: str
    training_proof: str
    worker_protection_exchange: str
    product_name: str
    epa_registration_number: str
    label_version: str
    signal_word: str
    restricted_use: bool
    flags: Sequence[dict[str, Any]]
