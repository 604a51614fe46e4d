"""Where a place lies, as people write it: copied from a map, or the state by its name."""

import re
from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

MILLIONTH = Decimal("0.000001")  # of a degree: four inches on the ground
DEGREES = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*°?\s*([NSEWnsew]?)\s*")
LYING = ("latitude", "longitude", "jurisdiction", "region")
# The states of the United States and their capital's district, by ISO 3166-2.
STATES = {
    "AL": gettext_noop("Alabama"),
    "AK": gettext_noop("Alaska"),
    "AZ": gettext_noop("Arizona"),
    "AR": gettext_noop("Arkansas"),
    "CA": gettext_noop("California"),
    "CO": gettext_noop("Colorado"),
    "CT": gettext_noop("Connecticut"),
    "DE": gettext_noop("Delaware"),
    "DC": gettext_noop("District of Columbia"),
    "FL": gettext_noop("Florida"),
    "GA": gettext_noop("Georgia"),
    "HI": gettext_noop("Hawaii"),
    "ID": gettext_noop("Idaho"),
    "IL": gettext_noop("Illinois"),
    "IN": gettext_noop("Indiana"),
    "IA": gettext_noop("Iowa"),
    "KS": gettext_noop("Kansas"),
    "KY": gettext_noop("Kentucky"),
    "LA": gettext_noop("Louisiana"),
    "ME": gettext_noop("Maine"),
    "MD": gettext_noop("Maryland"),
    "MA": gettext_noop("Massachusetts"),
    "MI": gettext_noop("Michigan"),
    "MN": gettext_noop("Minnesota"),
    "MS": gettext_noop("Mississippi"),
    "MO": gettext_noop("Missouri"),
    "MT": gettext_noop("Montana"),
    "NE": gettext_noop("Nebraska"),
    "NV": gettext_noop("Nevada"),
    "NH": gettext_noop("New Hampshire"),
    "NJ": gettext_noop("New Jersey"),
    "NM": gettext_noop("New Mexico"),
    "NY": gettext_noop("New York"),
    "NC": gettext_noop("North Carolina"),
    "ND": gettext_noop("North Dakota"),
    "OH": gettext_noop("Ohio"),
    "OK": gettext_noop("Oklahoma"),
    "OR": gettext_noop("Oregon"),
    "PA": gettext_noop("Pennsylvania"),
    "RI": gettext_noop("Rhode Island"),
    "SC": gettext_noop("South Carolina"),
    "SD": gettext_noop("South Dakota"),
    "TN": gettext_noop("Tennessee"),
    "TX": gettext_noop("Texas"),
    "UT": gettext_noop("Utah"),
    "VT": gettext_noop("Vermont"),
    "VA": gettext_noop("Virginia"),
    "WA": gettext_noop("Washington"),
    "WV": gettext_noop("West Virginia"),
    "WI": gettext_noop("Wisconsin"),
    "WY": gettext_noop("Wyoming"),
}
CODES = {name.casefold(): code for code, name in STATES.items()}


def jurisdiction_of(text: str) -> str:
    """Return the ISO 3166-2 code of a state that was written in another way, else the text.

    >>> jurisdiction_of("Pennsylvania"), jurisdiction_of(" pa "), jurisdiction_of("us-nj")
    ('US-PA', 'US-PA', 'US-NJ')
    """
    written = " ".join(text.split())
    code = CODES.get(written.casefold(), written.upper())
    return f"US-{code}" if code in STATES else code


def state_named(jurisdiction: str) -> str:
    """Return the name of a state by its ISO 3166-2 code, else the code, in the reader's language.

    >>> state_named("US-PA"), state_named("US-DC"), state_named("CA-ON")
    ('Pennsylvania', 'District of Columbia', 'CA-ON')
    """
    country, _dash, letters = jurisdiction.partition("-")
    name = STATES.get(letters) if country == "US" else None
    return _(name) if name else jurisdiction


def town_line(town: str, state: str, postal_code: str) -> str:
    """Return the last line of an address, without what is empty.

    >>> town_line("New Hope", "PA", "18938"), town_line("", "PA", ""), town_line("New Hope", "", "")
    ('New Hope, PA 18938', 'PA', 'New Hope')
    """
    rest = " ".join(part for part in (state, postal_code) if part)
    return ", ".join(part for part in (town, rest) if part)


def degrees_of(text: str) -> Decimal | None:
    """Return the degrees of one coordinate, south and west negative; None where it is none.

    >>> degrees_of("74.93120000001° W"), degrees_of("north")
    (Decimal('-74.931200'), None)
    """
    found = DEGREES.fullmatch(text)
    if found is None or len(found[1]) > 24:
        return None
    degrees = Decimal(found[1]).quantize(MILLIONTH, rounding=ROUND_HALF_EVEN)
    return -abs(degrees) if found[2].upper() in {"S", "W"} and found[2] else degrees


def as_typed(sent: Mapping[str, str], prefix: str = "") -> dict[str, str]:
    """Return what is to be read in place of what was sent of a place.

    Both coordinates in one field, as a map copies them, are told apart where the other is empty.
    The state of an address is kept by its two letters.

    >>> as_typed({"latitude": "40.2293, -74.9312", "longitude": ""})
    {'latitude': '40.229300', 'longitude': '-74.931200'}
    >>> as_typed({"region": "New Jersey"})
    {'region': 'NJ'}
    """
    north, east, state, letters = (f"{prefix}{name}" for name in LYING)
    typed = {name: sent[name] for name in (north, east, state, letters) if name in sent}
    parts = typed.get(north, "").split(",")
    if len(parts) == 2 and not typed.get(east, "").strip():
        typed[north], typed[east] = parts
    for name in (north, east):
        degrees = degrees_of(typed.get(name, ""))
        if degrees is not None:
            typed[name] = str(degrees)
    if state in typed:
        typed[state] = jurisdiction_of(typed[state])
    if (code := jurisdiction_of(typed.get(letters, ""))).startswith("US-"):
        typed[letters] = code.removeprefix("US-")
    return typed


def refuse_far_east(jurisdiction: str, longitude: Decimal | None) -> None:
    """Refuse a longitude east of Greenwich in the United States: its minus was forgotten."""
    # Alaska's last islands lie beyond 172 degrees east.
    if jurisdiction.startswith("US-") and longitude is not None and 0 < longitude < 172:
        raise ValidationError(
            {"longitude": _("In the United States longitude is negative: put a minus before it.")}
        )
