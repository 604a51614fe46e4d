"""What is to be done first in a new book, in order, and what of it is done."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from clients.models import Client, Planting
from services.models import Crew, Truck, Yard
from treatments.models import (
    Applicator,
    Business,
    Calibration,
    Certificate,
    Lot,
    Product,
    Rotation,
    Sprayer,
)

STEPS = [
    (_("Say whose book this is: name, licence, address."), "treatments:business", Business),
    (_("Enter the yard from which the crews set out."), "services:new_yard", Yard),
    (_("Enter a crew: who is in it, and the hours of its shift."), "services:new_crew", Crew),
    (_("Enter those who apply, with their certificates."), "services:people", Certificate),
    (_("Enter the sprayers and what each puts out."), "treatments:sprayers", Calibration),
    (_("Enter the truck of each crew, with the sprayers on it."), "services:new_truck", Truck),
    (_("Copy the labels of the products you use."), "treatments:products", Product),
    (_("Receive the lots that are in the store."), "treatments:receive", Lot),
    (_("Take in a client with the property."), "clients:new_client", Client),
    (_("Enter what grows there: plantings with their sizes."), "clients:properties", Planting),
    (_("Compose a rotation: products that work differently."), "treatments:compose", Rotation),
]
# Steps that begin with a thing which then has another added on its own page.
BEGUN_WITH = {
    "services:people": (Applicator, "treatments:new_applicator"),
    "treatments:sprayers": (Sprayer, "treatments:new_sprayer"),
}


@dataclass(frozen=True, slots=True)
class FirstStep:
    """A step with the address where it is done."""

    words: str | Promise
    url: str
    is_done: bool


def first_steps() -> list[FirstStep]:
    """Return the steps before the first course, and the course itself."""
    steps = [
        FirstStep(words, reverse(_where(name)), kind._default_manager.exists())
        for words, name, kind in STEPS
    ]
    course = FirstStep(_("Put the rotation on plantings."), reverse("services:new_course"), False)
    return [*steps, course]


def _where(name: str) -> str:
    """Return the page of a step, or that of the thing with which it begins."""
    kind, first = BEGUN_WITH.get(name, (None, name))
    return first if kind and not kind._default_manager.exists() else name
