"""The nouns of who and where."""

from clients.models.client import Client
from clients.models.planting import Habit, PlantGroup, Planting
from clients.models.property import AccessWindow, Neighbour, Property

__all__ = [
    "AccessWindow",
    "Client",
    "Habit",
    "Neighbour",
    "PlantGroup",
    "Planting",
    "Property",
]
