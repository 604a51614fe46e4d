"""What is read once for all batches: rotations, labels, people and rules."""

from array import array
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Prefetch

from clients.models import Property
from services.demonstration.reading import read
from services.generating.ground import REACH, SETTLED
from services.generating.wanted import Wanted
from treatments.gathering import with_labels
from treatments.models import Applicator, Certificate, Product, Rotation, RotationWeek
from treatments.recording.copying import Columns, business_columns, people_columns, product_columns
from treatments.rulebook import Binding, keys_of, rules_at

STATE = "US-PA"
TREATED = {  # which rotation of the demonstration is put on which of its plants
    "mites on burning bush": {"burning-bush"},
    "mites on roses": {"rose"},
    "mites on roses, organic": {"rose"},
    "spruce mites": {"dwarf-spruce", "spruce-hedge"},
    "boxwood leafminer": {"boxwood"},
    "lace bug": {"azalea"},
    "crape myrtle aphid": {"crape-myrtle"},
    "euonymus scale": {"wintercreeper"},
}
BY_MONTH = [1, 1, 4, 9, 14, 16, 16, 14, 11, 8, 4, 2]  # how the work falls in a year; made up


@dataclass
class Terms:
    """The facts that do not change from batch to batch."""

    wanted: Wanted
    _copied: dict[Any, Columns] = field(default_factory=dict)
    _rules: dict[Binding, str] = field(default_factory=dict)

    @cached_property
    def properties(self) -> "array[int]":
        """The keys of all properties: eight bytes each, in the order in which they were made."""
        keys = Property.objects.order_by("pk").values_list("pk", flat=True)
        return array("q", keys.iterator())

    @cached_property
    def rotations(self) -> list[tuple[Rotation, set[str]]]:
        """Each rotation with the common names of the plants that it is put on."""
        weeks = RotationWeek.objects.select_related("product").order_by("week")
        found = Rotation.objects.select_related("pest").prefetch_related(Prefetch("weeks", weeks))
        by_name = {rotation.name: rotation for rotation in found}
        return [
            (by_name[row["name"]], {read("plants")[kind]["common_name"] for kind in kinds})
            for row in read("rotations")["rotations"]
            if (kinds := TREATED.get(row["key"]))
        ]

    @cached_property
    def products(self) -> dict[int, Product]:
        """The products with all of their labels."""
        return {product.pk: product for product in with_labels(Product.objects.all())}

    @cached_property
    def days(self) -> list[date]:
        """The days on which a course may begin, in order."""
        first = self.wanted.today - timedelta(days=REACH)
        return [first + timedelta(days=passed) for passed in range(REACH - SETTLED + 1)]

    @cached_property
    def applicators(self) -> list[Applicator]:
        """Who was certified all the time."""
        held = Certificate.objects.filter(jurisdiction=STATE).valid_on(self.days[0])
        certified = held.filter(expires_on__gte=self.wanted.today)
        return list(
            Applicator.objects.filter(certificates__in=certified)
            .select_related("user")
            .order_by("pk")
            .distinct()
        )

    @cached_property
    def keeper(self) -> User:
        """Who receives what comes for the store, and counts it."""
        return User.objects.get(username=read("people")["people"][0]["username"])

    @cached_property
    def business(self) -> Columns:
        """What each record says of the business."""
        return business_columns()

    def copied(self, product: Product, applicator: Applicator) -> Columns:
        """Return what a record copies of a product and of who applied it."""
        key = (product.pk, applicator.pk)
        if key not in self._copied:
            people = people_columns(applicator, None, product, STATE, self.days[0])
            self._copied[key] = product_columns(product) | people
        return self._copied[key]

    def rules(self, binding: Binding) -> str:
        """Return the rule sets by which a record is checked."""
        if binding not in self._rules:
            self._rules[binding] = keys_of(rules_at(STATE, binding))
        return self._rules[binding]

    def days_of(self, batch: int) -> list[date]:
        """Return the days on which the courses of a batch begin, one at the least.

        Each batch has an equal share of the work of the whole year, so that winters have few.
        """
        weights = [BY_MONTH[day.month - 1] for day in self.days]
        first, last = (share * sum(weights) for share in self.wanted.share_of(batch))
        passed, found = 0, []
        for day, weight in zip(self.days, weights, strict=True):
            if passed < last and passed + weight > first:
                found.append(day)
            passed += weight
        return found
