"""Examples of how a program speaks with the book, as a newcomer types them.

`BOOK` and `KEY` are the reader's own; what an answer gives is named for the examples below it.  The
tests run every one, in order.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

API = "$BOOK/api/v1"
NAME, IN_THE_SHELL = re.compile(r"(\$[A-Z]+)"), r"'\1'"


@dataclass(frozen=True, slots=True)
class Example:
    """A command, what it does, the status that answers it, and what is named of the answer.

    gives: the path of a member of the answer, by the name under which later examples say it
    """

    title: str | Promise
    command: str
    status: int = 200
    gives: Mapping[str, str] = field(default_factory=dict)


def curl(path: str, *options: str) -> str:
    """Return a command that asks at a path with the key, an option a line."""
    return " \\\n  ".join(['curl -H "Authorization: Bearer $KEY"', *options, path])


def sent(json: str) -> str:
    """Return the option by which curl posts JSON; names stand outside the quotes of the shell."""
    return f"--json '{NAME.sub(IN_THE_SHELL, json)}'"


EXAMPLES = [
    Example(
        _("Read the clients, two at a time; “next” is the address of the next ones."),
        curl(f'"{API}/clients/?limit=2"'),
    ),
    Example(
        _("Enter a client. What the book refuses is told by field, as RFC 9457 has it."),
        curl(f"{API}/clients/", sent('{"name": "Orchard Row Homes", "language": "en"}')),
        201,
        {"CLIENT": "id"},
    ),
    Example(
        _("Change it under the version that was read: 428 without If-Match, 412 when stale."),
        curl(
            f"{API}/clients/$CLIENT/",
            "-X PATCH",
            "-H 'If-Match: \"v1\"'",
            sent('{"phone": "555-0142"}'),
        ),
    ),
    Example(
        _("Enter a property of the client."),
        curl(
            f"{API}/properties/",
            sent(
                '{"client": $CLIENT, "name": "Orchard Row", "street": "5 Orchard Row", '
                '"city": "Nowhere", "postal_code": "00000", "jurisdiction": "US-PA", '
                '"latitude": "40.25", "longitude": "-74.81", "time_zone": "America/New_York"}'
            ),
        ),
        201,
        {"PROPERTY": "id"},
    ),
    Example(
        _("Enter a planting."),
        curl(
            f"{API}/plantings/",
            sent(
                '{"property": $PROPERTY, "name": "Front bed", "common_name": "hybrid rose", '
                '"species": "Rosa hybrids", "plant_group": "rose", "habit": "bed", "plants": 12, '
                '"length_ft": "20", "width_ft": "6", "height_ft": "3"}'
            ),
        ),
        201,
        {"PLANTING": "id"},
    ),
    Example(_("Find a pest."), curl(f"{API}/pests/"), 200, {"PEST": "results.0.id"}),
    Example(
        _("Enter a count; a moment is told with its offset from UTC."),
        curl(
            f"{API}/counts/",
            sent(
                '{"planting": $PLANTING, "pest": $PEST, "scouted_at": "2026-07-06T18:40:00-04:00", '
                '"leaves_looked_at": 20, "leaves_infested": 9, "eggs": 40, "adults": 25}'
            ),
        ),
        201,
    ),
    Example(_("Look for words in the whole book."), curl(f'"{API}/search/?words=orchard+row"')),
    Example(
        _("Bring a file: it is looked at, and nothing is kept yet. “found” names every fault."),
        curl(f"{API}/files-brought/", "-F kind=clients", "-F file=@clients.csv"),
        201,
        {"FILE": "id"},
    ),
    Example(
        _("Have it kept, the whole file or nothing."),
        curl(f"{API}/files-brought/$FILE/confirm/", "-X POST"),
    ),
    Example(
        _("See how far it is: “kept_at” says when it was kept."),
        curl(f"{API}/files-brought/$FILE/"),
    ),
    Example(_("Undo it the same day."), curl(f"{API}/files-brought/$FILE/undo/", "-X POST")),
    Example(
        _("Ask for the whole book; only an owner's key may."),
        curl(f"{API}/exports/", "-X POST"),
        202,
        {"EXPORT": "id"},
    ),
    Example(
        _("See how far it is; “file” is where it is fetched once it is done."),
        curl(f"{API}/exports/$EXPORT/"),
    ),
    Example(
        _("Fetch it. Whatever address ends like a file takes the key as well: papers, tables."),
        curl("$BOOK/exports/$EXPORT/book.zip", "-o book.zip"),
    ),
    Example(
        _("Read the week of a day: which visits may go, and what stands in their way."),
        curl(f'"{API}/week/?monday=2026-07-13"'),
    ),
    Example(
        _("List visits between two days."),
        curl(f'"{API}/visits/?first=2026-07-13&last=2026-07-19"'),
        200,
        {"VISIT": "results.0.id"},
    ),
    Example(
        _("Put a visit off, with the reason."),
        curl(f"{API}/visits/$VISIT/hold/", sent('{"reason": "wind", "note": "gusts of 20 mph"}')),
    ),
    Example(
        _("Read the newest record; none is ever changed, it is amended by another one."),
        curl(f'"{API}/records/?limit=1"'),
        200,
        {"NUMBER": "results.0.number"},
    ),
    Example(
        _("Fetch the paper of a record."),
        curl("$BOOK/records/$NUMBER/record.pdf", "-o record.pdf"),
    ),
    Example(
        _("Give a sign as the code has it, where the book's table lacks its words or its figure."),
        curl(
            f"{API}/sign-designs/US-OH/own/",
            sent(
                '{"width_in": "5", "height_in": "4", "background": "white", "lettering": "black", '
                '"lines": [{"words": "The words of the code", "size": "24"}, '
                '{"words": "[business], [phone]", "size": "18"}], "symbol": "walkers", '
                '"symbol_in": "1.5", "symbol_after": 1, '
                '"citation": "The section and figure that you read", "compared_on": "2026-07-01"}'
            ),
        ),
        201,
    ),
]
