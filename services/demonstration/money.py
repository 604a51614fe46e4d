"""Enters the invented prices, and gives out the statements of the season."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import NAMESPACE_OID, UUID, uuid5

from django.core.exceptions import ValidationError

from clients.models import Planting, Property
from services.demonstration.reading import Days, moment, read
from services.demonstration.season import Season
from services.estimating import answer, write_estimate
from services.estimating.writing import would_be_put_on
from services.models import CostRate, Estimate, PriceRule, TaxRate
from services.statements import correct_charge, give_out, note_payment
from services.telling import make_link
from treatments.models import Rotation
from treatments.scouting import record_count


def enter_prices(season: Season) -> None:
    """Enter what is charged, what hours and miles cost, and the tax that no place has."""
    days, by = season.days, season.by
    for of, amount, since, client, place, rotation in read("prices")["prices"]:
        PriceRule.objects.create(
            by=of,
            amount=Decimal(amount),
            from_day=days.from_today(since),
            client=_place(client).client if client else None,
            property=_place(place) if place else None,
            rotation=season.rotations[rotation] if rotation else None,
            made_by=by,
        )
    for of, amount, since in read("prices")["costs"]:
        CostRate.objects.create(
            of=of, amount=Decimal(amount), from_day=days.from_today(since), made_by=by
        )
    for name, state, percent, falls_on, since in read("prices")["taxes"]:
        TaxRate.objects.create(
            name=name,
            jurisdiction=state,
            percent=Decimal(percent),
            falls_on=falls_on,
            from_day=days.from_today(since),
            made_by=by,
        )


def keep_accounts(days: Days, by: Any) -> None:
    """Give out statements, note payments and correct a charge, in the order of their days."""
    told = read("prices")
    rows = [(row[3], _give, row) for row in told["statements"]]
    rows += [(row[1], _pay, row) for row in told["payments"]]
    rows += [(row[1], _correct, row) for row in told["corrections"]]
    for since, act, row in sorted(rows, key=lambda each: each[0]):
        act(row, days, days.from_today(since), by)


def _give(row: list[Any], days: Days, day: date, by: Any) -> None:
    give_out(
        _place(row[0]).client,
        first_day=days.from_today(row[1]),
        last_day=days.from_today(row[2]),
        by=by,
        at=moment(day, 17),
        form_id=_form("statement", row),
    )


def _pay(row: list[Any], days: Days, day: date, by: Any) -> None:
    note_payment(
        _place(row[0]).client,
        day=day,
        amount=Decimal(row[2]),
        way=row[3],
        by=by,
        at=moment(day, 17),
        form_id=_form("payment", row),
    )


def _correct(row: list[Any], days: Days, day: date, by: Any) -> None:
    place = _place(row[0])
    correct_charge(
        place.client,
        property=place,
        day=day,
        amount=Decimal(row[2]),
        words=row[3],
        by=by,
        at=moment(day, 17),
        form_id=_form("correction", row),
    )


def propose_courses(season: Season) -> None:
    """Write an estimate that is open, and one that its client accepts."""
    days, at = season.days, moment(season.days.today, 6, 30)
    for number, accepts in enumerate(read("prices")["estimates"]["accepted"]):
        planting = _first_that_may(season)
        record_count(
            planting=planting,
            pest=_proposed(season).pest,
            scouted_at=moment(days.from_today(-2), 10),
            scouted_by=season.by,
            **read("prices")["estimates"]["counted"],
        )
        estimate = write_estimate(
            rotation=_proposed(season),
            plantings=[planting],
            first_day=_first_day(days),
            valid_until=days.from_today(30),
            prices={},
            by=season.by,
            today=days.today,
            at=at,
            note=read("prices")["estimates"]["note"],
            form_id=_form("estimate", [number]),
        )
        if accepts:
            _accept(estimate, days, at)


def _accept(estimate: Estimate, days: Days, at: datetime) -> None:
    make_link(estimate.property.client, now=at)
    answer(
        estimate,
        accepts=True,
        link=estimate.property.client.links.latest("pk"),
        paper_sha256=estimate.sha256,
        today=days.today,
        at=at,
    )


def _first_that_may(season: Season) -> Planting:
    """Return the first planting of the name, without course or estimate, that may have it."""
    free = Planting.objects.filter(
        name=read("prices")["estimates"]["planting"],
        courses__isnull=True,
        estimates__isnull=True,
    )
    for planting in free.select_related("property__client").order_by("property__name"):
        try:
            would_be_put_on(
                _proposed(season), [planting], _first_day(season.days), None, season.days.today
            )
        except ValidationError:
            continue
        return planting
    raise LookupError("No planting of the demonstration may have the rotation that is proposed.")


def _proposed(season: Season) -> Rotation:
    return season.rotations[read("prices")["estimates"]["rotation"]]


def _first_day(days: Days) -> date:
    return days.from_today(read("prices")["estimates"]["first_day"])


def _place(name: str) -> Property:
    return Property.objects.select_related("client").get(name=name)


def _form(noun: str, row: list[Any]) -> UUID:
    return uuid5(NAMESPACE_OID, f"demonstration {noun} {row}")
