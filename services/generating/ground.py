"""The ground a made-up business stands on: people, products and rotations of the demonstration."""

from datetime import timedelta

from django.contrib.auth import get_user_model
from django.db import transaction

from services.demonstration.labels import load_labels
from services.demonstration.people import load_people
from services.demonstration.reading import Days, plain, read
from services.demonstration.rotations import compose_all
from services.demonstration.yard import kept, load_yard
from services.generating.wanted import Wanted
from treatments.models import Business

REACH = 690  # days back to the first course, within the certificates of the demonstration
SETTLED = 10  # days since the last one began, so that each course has a spray already


@transaction.atomic
def lay_ground(wanted: Wanted) -> dict[str, str]:
    """Put business, people, products and rotations in the book; return new passwords by name."""
    days = Days(wanted.today)
    told = plain(read("business")["business"], "name")
    kept(Business(**told, name=wanted.name(), invented=True))
    load_yard(days)
    passwords = load_people(days)
    load_labels()
    composer = get_user_model().objects.get(username=read("rotations")["composed_by"])
    compose_all(wanted.today - timedelta(days=REACH), composer)
    return passwords
