"""Loads the business, its yard, crews, trucks and sprayers."""

from datetime import date, datetime, time, timedelta
from typing import Any

from services.demonstration.reading import Days, plain, read
from services.models import Crew, Truck, Yard
from treatments.models import Business, Sprayer
from treatments.rules.daylight import Place, sunset

MEASURED = ("nozzle", "pressure_psi", "method", "gallons_per_1000_sq_ft")


def load_business() -> None:
    """Load the business, which says of itself that it is invented."""
    kept(Business(**read("business")["business"], invented=True))


def load_yard(days: Days) -> None:
    """Load the yard with its crews, and the trucks with their sprayers."""
    data = read("business")
    sprayers = {row["name"]: kept(Sprayer(**plain(row, *MEASURED))) for row in data["sprayers"]}
    yard = kept(Yard(**data["yard"]))
    for row in data["crews"]:
        starts, ends = shift_of(row, yard, days.today)
        crew = kept(Crew(yard=yard, name=row["name"], shift_starts=starts, shift_ends=ends))
        truck = Truck(name=row["truck"], crew=crew, water_gallons=row["water_gallons"])
        kept(truck).sprayers.set(sprayers[name] for name in row["sprayers"])


def shift_of(row: dict[str, Any], yard: Yard, day: date) -> tuple[time, time]:
    """Return the hours of a crew, by the clock or about the sunset of a day."""
    if "from_sunset" not in row:
        return time.fromisoformat(row["shift_starts"]), time.fromisoformat(row["shift_ends"])
    place = Place(float(yard.latitude), float(yard.longitude), yard.time_zone)
    sets = sunset(place, day) or datetime.combine(day, time(19))
    before, after = (sets + timedelta(minutes=minutes) for minutes in row["from_sunset"])
    return _quarter(before), _quarter(after)


def keep_shifts(day: date) -> None:
    """Let the evening crews work about the sunset of a day, as the seasons turn."""
    for row in read("business")["crews"]:
        if "from_sunset" in row:
            crew = Crew.objects.select_related("yard").get(name=row["name"])
            hours = shift_of(row, crew.yard, day)
            if hours != (crew.shift_starts, crew.shift_ends):
                crew.shift_starts, crew.shift_ends = hours
                kept(crew)


def _quarter(moment: datetime) -> time:
    return time(moment.hour, moment.minute // 15 * 15)


def kept(row: Any) -> Any:
    """Clean a row of plain reference data, save it and return it as it was saved."""
    row.full_clean()
    row.save()
    return row
