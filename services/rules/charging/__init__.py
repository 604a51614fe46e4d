"""What a visit costs, what it is charged and what tax comes upon it; exact until the one rounding.

Nothing here is advice on tax: rates are what the owner entered.
"""

from services.rules.charging.costs import (
    Cost,
    CostRate,
    CostRates,
    Drive,
    Used,
    Work,
    cost_of,
    drives_of,
)
from services.rules.charging.money import CENT, cents
from services.rules.charging.prices import (
    Charge,
    Kind,
    PricedBy,
    PriceRule,
    ToCharge,
    charge_of,
    price_that_counts,
)
from services.rules.charging.taxes import FallsOn, Taxable, TaxDue, TaxRate, taxes_on

__all__ = [
    "CENT",
    "Charge",
    "Cost",
    "CostRate",
    "CostRates",
    "Drive",
    "FallsOn",
    "Kind",
    "PriceRule",
    "PricedBy",
    "TaxDue",
    "TaxRate",
    "Taxable",
    "ToCharge",
    "Used",
    "Work",
    "cents",
    "charge_of",
    "cost_of",
    "drives_of",
    "price_that_counts",
    "taxes_on",
]
