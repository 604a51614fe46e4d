"""What is to be done first in a new book, in order, and what of it is done."""

from dataclasses import dataclass

from django.db.models import Model
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
    (_("Say whose book this is: name, license, address."), "treatments:business", Business),
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


@dataclass(frozen=True, slots=True)
class Begun:
    """The thing with which a step begins, where it is entered, and what is missing after it."""

    kind: type[Model]
    name: str
    missing: Promise


# Steps that begin with a thing which then has another added on its own page.
BEGUN_WITH = {
    "services:people": Begun(
        Applicator,
        "treatments:new_applicator",
        _("Somebody is entered; a certificate is still missing."),
    ),
    "treatments:sprayers": Begun(
        Sprayer,
        "treatments:new_sprayer",
        _("A sprayer is entered; what it puts out is still to be measured: Calibrate."),
    ),
}


@dataclass(frozen=True, slots=True)
class FirstStep:
    """A step with the address where it is done.

    missing: what a step still wants that was begun
    """

    words: str | Promise
    url: str
    is_done: bool
    missing: str | Promise = ""


def first_steps() -> list[FirstStep]:
    """Return the steps before the first course, and the course itself."""
    steps = [_step(words, name, kind) for words, name, kind in STEPS]
    course = FirstStep(_("Put the rotation on plantings."), reverse("services:new_course"), False)
    return [*steps, course]


def _step(words: Promise, name: str, kind: type[Model]) -> FirstStep:
    """Return a step; it leads to its own page, or first to the thing with which it begins."""
    is_done = kind._default_manager.exists()
    begun = BEGUN_WITH.get(name)
    if is_done or begun is None:
        return FirstStep(words, reverse(name), is_done)
    if begun.kind._default_manager.exists():
        return FirstStep(words, reverse(name), is_done, begun.missing)
    return FirstStep(words, reverse(begun.name), is_done)
