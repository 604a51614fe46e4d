"""What was applied in the period of a return, in the fields that its rule lists."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from treatments.models import ApplicationRecord
from treatments.models.records import ApplicationRecordQuerySet
from treatments.recording import fields_of
from treatments.rules.records import ReturnRule


@dataclass(frozen=True, slots=True)
class Total:
    """What was applied of a product in a county, in the unit in which it was measured."""

    county: str
    product: str
    registration_number: str
    amount: Decimal
    unit: str
    applications: int


def applied_in(
    rule: ReturnRule, day: date, kept: ApplicationRecordQuerySet
) -> list[ApplicationRecord]:
    """Return the records that stand of the period in which a day lies, the oldest first.

    kept: those that the person may see

    The period goes by the clocks of each place; what was amended counts as it stands now.
    """
    first, after = rule.first_day(day), rule.next_first(day)
    near = _near(rule, day, kept).order_by("done_at", "number")
    return [each for each in near if first <= _day(each) < after]


def is_empty(rule: ReturnRule, day: date, kept: ApplicationRecordQuerySet) -> bool:
    """Say whether no record falls into the period in which a day lies, nor hard beside it."""
    return not _near(rule, day, kept).exists()


def _near(
    rule: ReturnRule, day: date, kept: ApplicationRecordQuerySet
) -> ApplicationRecordQuerySet:
    """Return the records of a period, and of two days beside it for clocks elsewhere."""
    first, after = rule.first_day(day), rule.next_first(day)
    return kept.current().filter(
        jurisdiction=f"US-{rule.jurisdiction}",
        done_at__gte=datetime.combine(first - timedelta(days=2), time(), ZoneInfo("UTC")),
        done_at__lt=datetime.combine(after + timedelta(days=2), time(), ZoneInfo("UTC")),
    )


def _day(record: ApplicationRecord) -> date:
    return record.done_at.astimezone(ZoneInfo(record.time_zone or "UTC")).date()


def rows_of(rule: ReturnRule, records: Iterable[ApplicationRecord]) -> list[list[str]]:
    """Return a row a record: its number, its county, and the fields of the rule in their order."""
    told = ((record, fields_of(record)) for record in records)
    return [
        [str(record.number), record.county, *(fields.get(name, "") for name in rule.fields)]
        for record, fields in told
    ]


def totals_of(records: Iterable[ApplicationRecord]) -> list[Total]:
    """Return what was applied of each product in each county, amounts of one unit added up."""
    sums: dict[tuple[str, str, str, str], tuple[Decimal, int]] = {}
    for each in records:
        key = (
            each.county,
            each.product_name,
            each.epa_registration_number,
            each.product_unit,
        )
        amount, count = sums.get(key, (Decimal(0), 0))
        sums[key] = (amount + each.product_amount, count + 1)
    return [
        Total(county, product, number, amount, unit, count)
        for (county, product, number, unit), (amount, count) in sorted(sums.items())
    ]
