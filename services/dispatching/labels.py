"""What the labels of the visits' products say, for the checks of a plan."""

from collections.abc import Iterable, Mapping
from functools import cached_property

from services.models import Visit
from treatments.gathering import product_facts, with_labels
from treatments.models import Product
from treatments.rules.facts import ProductFacts


class Labels:
    """The labels of all products that some visits spray, read together once one is asked for."""

    def __init__(self, visits: Iterable[Visit]) -> None:
        named = {visit.rotation_week.product_id for visit in visits}
        self._wanted = [product for product in named if product is not None]

    def of(self, visit: Visit) -> ProductFacts:
        """Return what the label of a visit's product says; raise NothingToMix where none is."""
        return self._facts[visit.rotation_week.sprayed_product().pk]

    @cached_property
    def _facts(self) -> Mapping[int, ProductFacts]:
        wanted = with_labels(Product.objects.filter(pk__in=self._wanted))
        return {product.pk: product_facts(product) for product in wanted}
