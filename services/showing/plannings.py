"""A plan in the making as its page shows it: how far it is, or what each offer would change."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.functional import Promise
from django.utils.translation import get_language, gettext_lazy, ngettext
from django.utils.translation import gettext as _

from services.models import Planning, Visit, Yard
from services.sheets.dates import day_and_clock
from services.showing.obstacles import kept_finding, with_days_in_words
from treatments.rules.findings import Finding

NAMES: Mapping[str, tuple[str | Promise, str | Promise]] = {
    Planning.Offer.INSERTION: (
        gettext_lazy("Nothing else moves"),
        gettext_lazy("What has a crew stays as it is; the rest is put in where it fits."),
    ),
    Planning.Offer.LOCKED: (
        gettext_lazy("Promised days stay"),
        gettext_lazy(
            "A visit of which somebody was told keeps its day; crews, hours and the days of the "
            "others may change."
        ),
    ),
    Planning.Offer.FREE: (
        gettext_lazy("Everything may move"),
        gettext_lazy("The least driving, whatever was promised."),
    ),
}
CHANGES: Mapping[str, str | Promise] = {
    "stays": gettext_lazy("stays with its crew and day"),
    "crew": gettext_lazy("goes with another crew"),
    "day": gettext_lazy("goes on another day"),
    "lost": gettext_lazy("loses its crew"),
    "placed": gettext_lazy("gets a crew"),
    "still-out": gettext_lazy("has no crew still"),
}
TO_TELL = gettext_lazy("is to be told again")
DRIVING = gettext_lazy("driving in all")


@dataclass(frozen=True, slots=True)
class Change:
    """A visit before and after, in words."""

    visit: Visit
    before: str
    after: str
    words: str | Promise
    is_same: bool
    to_tell: bool
    reason: Finding | None


@dataclass(frozen=True, slots=True)
class Offered:
    """One way to plan the days anew."""

    kind: str
    name: str | Promise
    says: str | Promise
    changes: list[Change]
    unchanged: int
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class Count:
    """What is counted of each offer, each figure with the offer's name."""

    words: str | Promise
    of_offers: list[tuple[str | Promise, str]]


@dataclass(frozen=True, slots=True)
class Comparison:
    """The offers of days planned anew, and their counts side by side."""

    offers: list[Offered]
    counts: list[Count]
    told_again: int


def comparison(planning: Planning) -> Comparison:
    """Return the offers of a planning in words, in two queries."""
    ids = {row["visit"] for offer in planning.offers for row in offer["rows"]}
    visits = Visit.objects.select_related("course__property__client", "course__rotation")
    by_id = visits.in_bulk(ids)
    offers = [_offered(planning, offer, by_id) for offer in planning.offers]
    told = [
        row
        for offer in planning.offers
        if offer["kind"] == planning.chosen
        for row in offer["rows"]
        if row["to_tell"] and row["change"] == "day"
    ]
    return Comparison(offers, _counts(planning.offers), len(told))


def part_in_words(planning: Planning) -> str:
    """Return which step of how many a plan in the making has reached."""
    if not planning.steps:
        return _("It waits for a free worker.")
    return _("Step %(step)s of %(steps)s. Each step is a plan that holds.") % {
        "step": planning.step,
        "steps": planning.steps,
    }


@dataclass(frozen=True, slots=True)
class OfYard:
    """The planning of one yard, where a week is planned yard by yard."""

    planning: Planning
    yard: str
    words: str


def yard_by_yard(planning: Planning) -> list[OfYard]:
    """Return the plannings of a week that was asked for at once, by the names of their yards."""
    if "yard" not in planning.arguments:
        return []
    days = {"first_day": planning.first_day, "last_day": planning.last_day}
    asked = Planning.objects.filter(kind=planning.kind, asked_at=planning.asked_at, **days)
    rows = [row for row in asked if "yard" in row.arguments]
    yards = Yard.objects.in_bulk([row.arguments["yard"] for row in rows])
    found = [
        OfYard(row, yard.name, _state_in_words(row))
        for row in rows
        if (yard := yards.get(row.arguments["yard"]))
    ]
    return sorted(found, key=lambda each: each.yard)


def _state_in_words(planning: Planning) -> str:
    if planning.failed_at:
        return _("no plan came of it")
    if planning.done_at is None:
        return part_in_words(planning)
    if not planning.without_crew:
        return _("dispatched")
    words = ngettext(
        "dispatched, %(count)s visit left out",
        "dispatched, %(count)s visits left out",
        planning.without_crew,
    )
    return words % {"count": planning.without_crew}


def _offered(planning: Planning, offer: Mapping, visits: Mapping[int, Visit]) -> Offered:
    name, says = NAMES[offer["kind"]]
    found = [_change(row, visits[row["visit"]]) for row in offer["rows"] if row["visit"] in visits]
    changes = [each for each in found if not each.is_same]
    return Offered(
        kind=offer["kind"],
        name=name,
        says=says,
        changes=changes,
        unchanged=len(found) - len(changes),
        is_chosen=planning.chosen == offer["kind"],
    )


def _change(row: Mapping, visit: Visit) -> Change:
    zone = visit.course.property.zone()
    return Change(
        visit=visit,
        before=_place(row["before"], zone),
        after=_place(row["after"], zone),
        words=CHANGES[row["change"]],
        is_same=row["change"] == "stays",
        to_tell=row["to_tell"],
        reason=with_days_in_words(kept_finding(row["reason"])) if row["reason"] else None,
    )


def _place(place: Mapping | None, zone) -> str:
    if place is None:
        return _("no crew")
    at = datetime.fromisoformat(place["at"]).astimezone(zone)
    return f"{day_and_clock(at, get_language())}, {place['crew_name']}"


def _counts(offers: Iterable[Mapping]) -> list[Count]:
    offers = list(offers)
    names = [NAMES[offer["kind"]][0] for offer in offers]

    def counted(words: str | Promise, figure: Callable[[Mapping], str]) -> Count:
        return Count(words, list(zip(names, map(figure, offers), strict=True)))

    return [
        *(counted(words, _figure_of(change)) for change, words in CHANGES.items()),
        counted(TO_TELL, _figure_of("to_tell")),
        counted(DRIVING, lambda offer: _hours(offer["travel_seconds"])),
    ]


def _figure_of(count: str) -> Callable[[Mapping], str]:
    return lambda offer: str(offer["counts"][count])


def _hours(seconds: int) -> str:
    minutes = timedelta(seconds=seconds) // timedelta(minutes=1)
    return _("%(hours)s h %(minutes)s min") % {"hours": minutes // 60, "minutes": minutes % 60}
