"""The kinds of things that a file may bring, in the order in which they stand on one another."""

from services.bringing.columns import Kind
from services.bringing.kinds.clients import Clients
from services.bringing.kinds.earlier import EarlierApplications
from services.bringing.kinds.glossary import Ingredients, Pests
from services.bringing.kinds.lots import Lots
from services.bringing.kinds.plantings import Plantings
from services.bringing.kinds.products import Products
from services.bringing.kinds.properties import Properties
from services.bringing.kinds.rates import LabelRates

KINDS: dict[str, type[Kind]] = {
    kind.name: kind
    for kind in (
        Clients,
        Properties,
        Plantings,
        Ingredients,
        Pests,
        Products,
        LabelRates,
        Lots,
        EarlierApplications,
    )
}

__all__ = ["KINDS"]
