"""Finds what a cell names among what the book has, read once for a whole file.

What has a name of its own is called by it; where two are called the same, a second part of the
name tells them apart.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.utils.functional import cached_property
from django.utils.translation import gettext as _

from clients.models import Client, Planting, Property
from treatments.models import ActiveIngredient, Pest, Product


def plain(text: object) -> str:
    """Return a name as it is compared: small letters, single spaces."""
    return " ".join(str(text).casefold().split())


class Named:
    """Things by their names, and by longer names where a name is not theirs alone.

    names: give the names of a thing, the shortest first
    """

    def __init__(self, things: Iterable[Any], names: Sequence[Callable[[Any], str]], noun: str):
        self.names, self.noun = names, noun
        self.by_name: list[dict[str, list[Any]]] = [defaultdict(list) for _ in names]
        for thing in things:
            for name, found in zip(names, self.by_name, strict=True):
                found[plain(name(thing))].append(thing)

    def called(self, text: str) -> list[Any]:
        """Return the things of a name, by its shortest form that anything has."""
        words = plain(text)
        return next((found[words] for found in self.by_name if words in found), [])

    def find(self, text: str) -> Any:
        """Return the thing of a name; raise LookupError with a sentence where there is not one."""
        found = self.called(text)
        if len(found) == 1:
            return found[0]
        if not found:
            raise LookupError(
                _("“%(text)s” is no %(noun)s of the book: bring or enter it first.")
                % {"text": text, "noun": self.noun}
            )
        raise LookupError(
            _("The book has %(count)s of the name “%(text)s”: write it as “%(longer)s”.")
            % {"count": len(found), "text": text, "longer": self.tell(found[0])}
        )

    def tell(self, thing: Any) -> str:
        """Return the shortest name by which the thing alone is found again."""
        names = [name(thing) for name in self.names]
        alone = (name for name in names if len(self.called(name)) == 1)
        return next(alone, names[-1])


class InBook:
    """What the book has, each kind read when it is first asked for."""

    @cached_property
    def clients(self) -> Named:
        """Clients, told apart by their street."""
        return Named(Client.objects.all(), [by_name, with_street], _("client"))

    @cached_property
    def properties(self) -> Named:
        """Properties, told apart by their client."""
        found = Property.objects.select_related("client")
        return Named(found, [by_name, with_client, with_client_and_street], _("property"))

    @cached_property
    def products(self) -> Named:
        """Products."""
        return Named(Product.objects.all(), [by_name], _("product"))

    @cached_property
    def ingredients(self) -> Named:
        """Active ingredients."""
        return Named(ActiveIngredient.objects.all(), [by_name], _("active ingredient"))

    @cached_property
    def pests(self) -> Named:
        """Pests by their common name in English."""
        return Named(Pest.objects.all(), [lambda each: each.common_name], _("pest"))

    @cached_property
    def plantings(self) -> dict[tuple[int, str], Planting]:
        """Plantings by property and name."""
        found = Planting.objects.select_related("property__client")
        return {(each.property_id, plain(each.name)): each for each in found}


def by_name(thing: Any) -> str:
    """Return the name of a thing."""
    return thing.name


def with_street(client: Client) -> str:
    """Return the longer name of a client."""
    return f"{client.name}, {client.street}"


def with_client(place: Property) -> str:
    """Return the longer name of a property."""
    return f"{place.name}, {place.client.name}"


def with_client_and_street(place: Property) -> str:
    """Return the longest name of a property, where two clients are called the same."""
    return f"{place.name}, {with_street(place.client)}"
