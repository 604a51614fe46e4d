"""Puts office users and phones into the book of a soak, and tells by what they come in, as JSON."""

import json
import sys

import django

django.setup()

from django.utils import timezone  # noqa: E402

from clients.access import Role  # noqa: E402
from services.devices import enrol, make_code  # noqa: E402
from services.models import Crew  # noqa: E402
from services.people import add_person  # noqa: E402

PASSWORD = "one long password to soak with"


def person(name, role, crew=None):
    return add_person(username=name, role=role, by=None, password=PASSWORD, crew=crew)


def phone(number, by):
    """Enrol the phone of a new technician; return its id and its token."""
    crews = list(Crew.objects.filter(retired=False))
    user = person(f"phone-{number}", Role.TECHNICIAN, crews[number % len(crews)])
    _, code = make_code(user, name=f"Phone {number}", by=by, now=timezone.now())
    device, token = enrol(code, now=timezone.now())
    return {"device": str(device.pk), "token": token}


def main(offices, phones):
    people = [person(f"office-{number}", Role.OFFICE) for number in range(offices)]
    told = {
        "password": PASSWORD,
        "offices": [user.username for user in people],
        "phones": [phone(number, people[0]) for number in range(phones)],
    }
    sys.stdout.write(json.dumps(told))


main(int(sys.argv[1]), int(sys.argv[2]))
