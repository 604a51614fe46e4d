"""Loads the demonstration and does its main job, all of it or nothing."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date

from django.contrib.auth import get_user_model
from django.db import transaction
from django.utils import timezone

from services.demonstration.forecast import load_forecast
from services.demonstration.labels import load_labels
from services.demonstration.main_job import (
    begin_todays,
    dispatch_week_three,
    hold_for_wind,
    make_week,
    put_composed_on,
)
from services.demonstration.money import enter_prices, keep_accounts, propose_courses
from services.demonstration.people import load_people
from services.demonstration.places import enter_emails, load_places
from services.demonstration.reading import Days, read
from services.demonstration.rotations import attempt_refused, compose_all
from services.demonstration.season import Season, season_days
from services.demonstration.temperatures import load_temperatures
from services.demonstration.yard import load_business, load_yard
from treatments.checkpointing import make_checkpoint
from treatments.models import Business
from treatments.rules.findings import Finding

Step = Callable[[str], None]


class BookInUse(Exception):
    """The database holds a business that is not invented."""


@dataclass(slots=True)
class Loaded:
    """What a load leaves to be told: passwords, refusals, and the last day that was recorded."""

    passwords: dict[str, str] = field(default_factory=dict)
    refusals: list[Finding] = field(default_factory=list)
    last_day: date | None = None


def is_loaded() -> bool:
    """Say whether the demonstration is in the database; raise BookInUse where a business is."""
    business = Business.objects.first()
    ours = read("business")["business"]["name"]
    if business is not None and business.invented and business.name == ours:
        return True
    if business is not None or get_user_model().objects.exists():
        name = business.name if business else "somebody"
        raise BookInUse(
            f"This book belongs to {name}. The demonstration goes into an empty one only: set "
            "DUSKBOOK_DATA to a new folder, or DATABASE_URL to an empty database."
        )
    return False


def steps_of(today: date) -> int:
    """Return how many steps a load tells of."""
    days = Days.of(today)
    return len(season_days(days)) + (days.today - days.monday).days + 8


@transaction.atomic
def load(today: date, step: Step) -> Loaded:
    """Load everything, let the season pass, and do the main job; `step` is told of each step."""
    days, loaded = Days.of(today), Loaded()
    load_business()
    load_yard(days)
    step("yard and crews")
    loaded.passwords = load_people(days)
    step("people")
    load_labels()
    step("labels")
    load_places()
    load_temperatures(days)
    step("clients and plantings")
    _play(days, loaded, step)
    return loaded


def _play(days: Days, loaded: Loaded, step: Step) -> None:
    owner = get_user_model().objects.get(username=read("people")["people"][0]["username"])
    first_day = season_days(days)[0]
    composer = get_user_model().objects.get(username=read("rotations")["composed_by"])
    season = Season(days, owner, compose_all(first_day, composer))
    step("rotations")
    season.pass_days(lambda day: step(f"{day:%d %B %Y}"))
    enter_emails()
    loaded.refusals = attempt_refused(days.today, composer)
    hold_for_wind(season)
    dispatch_week_three(days, owner)
    step("week three")
    loaded.last_day = make_week(season, lambda day: step(f"{day:%d %B %Y}"))
    begin_todays(season)
    enter_prices(season)
    keep_accounts(days, owner)
    propose_courses(season)
    put_composed_on(days, owner, composer)
    load_forecast(days, timezone.now())
    make_checkpoint(now=timezone.now())
    step("today")
    step("done")
