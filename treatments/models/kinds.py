"""The kind of a record: a text of all that decides what its rules ask of it, held by an index.

Records of a kind share place, rules, kind of product, and which of their fields are blank.
"""

from collections.abc import Iterable
from string import Formatter

from django.db.models import F, Func, TextField

from treatments.models.answers import COLUMNS

WRITTEN_LATE = "written-late"  # the code of a flag
SHARED = ["jurisdiction", "time_zone", "rules_checked_by", "rate_basis"]
YES_OR_NO = ["{restricted_use}", "{production_site}", "{void}"]
AT_HOME = "{site_address} = {customer_address}"
FLAGS = "CAST({flags} AS text)"
LATE = f"REPLACE({FLAGS}, '\"{WRITTEN_LATE}\"', '') <> {FLAGS}"
# Columns that are no texts are blank where they have no value.
NO_TEXTS = frozenset(
    {
        "done_at",
        "mix_gallons",
        "plants",
        "product_amount",
        "rate",
        "reentry_at",
        "started_at",
        "temperature_f",
        "treated_area_sq_ft",
        "wind_mph",
    }
)


class Spelled(Func):
    """A text that is spelled out in SQL of both databases, with columns in braces.

    It has no values beside it, for SQLite finds no expression in an index by values.
    """

    def __init__(self, spelled: str) -> None:
        self.spelled = spelled
        names = {name for _text, name, _spec, _conversion in Formatter().parse(spelled) if name}
        self.names = sorted(names)
        super().__init__(*map(F, self.names), output_field=TextField())

    def as_sql(self, compiler, connection, *_more, **_context):
        """Return the text with each column as the query names it."""
        columns = [compiler.compile(each)[0] for each in self.source_expressions]
        return self.spelled.format(**dict(zip(self.names, columns, strict=True))), []


def spelled_kind() -> str:
    """Return how the kind of a record is spelled; a change of it wants another index."""
    blank = " + ".join(
        f"CASE WHEN {_blank(columns)} THEN {1 << place} ELSE 0 END"
        for place, columns in enumerate(COLUMNS.values())
    )
    parts = [f"{{{name}}}" for name in SHARED]
    parts += [f"CASE WHEN {each} THEN '1' ELSE '0' END" for each in [*YES_OR_NO, AT_HOME, LATE]]
    return "(" + " || '|' || ".join([*parts, f"CAST({blank} AS text)"]) + ")"


def _blank(columns: Iterable[str]) -> str:
    """Return that no column of a field says anything; nothing but spaces does not come in."""
    return " AND ".join(
        f"{{{name}}} IS NULL" if name in NO_TEXTS else f"{{{name}}} IN ('', 'None')"
        for name in columns
    )


KIND = Spelled(spelled_kind())
