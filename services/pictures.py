"""Photos from the field beside the records of the visit of which they were announced."""

from collections.abc import Iterable
from typing import Any

from django.db.models import F

from services.models import FieldPhoto


def photos_of_records(numbers: Iterable[int]) -> dict[int, list[FieldPhoto]]:
    """Return the photos of records by their numbers, those still on a phone as well.

    A photo belongs to a visit: each record of it has them all, those that show the sign first.
    """
    rows = FieldPhoto.objects.filter(event__visit__records__number__in=numbers)
    named = rows.annotate(number=F("event__visit__records__number")).order_by("-shows_sign", "pk")
    found: dict[int, dict[str, FieldPhoto]] = {}
    for photo in named:
        found.setdefault(photo.number, {}).setdefault(photo.sha256, photo)
    return {number: list(each.values()) for number, each in found.items()}


def mark_photo(photo: FieldPhoto, *, shows_sign: bool, by: Any) -> bool:
    """Keep whether a photo shows the sign that was put up; say whether that is new."""
    other = FieldPhoto.objects.filter(pk=photo.pk, shows_sign=not shows_sign)
    return bool(other.update(shows_sign=shows_sign, marked_by=by))
