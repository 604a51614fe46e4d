"""Makes the earliest book that anybody could have: first tables, rows in each, guarded rows.

It is written through the models as the first migrations knew them, without a word of today's
models.  Run by itself, with the settings of an empty database; it ends at the first tables.
"""

from datetime import UTC, date, datetime, time
from decimal import Decimal
from unittest.mock import patch

import django

django.setup()

from django.db import connection, models  # noqa: E402
from django.db.migrations.executor import MigrationExecutor  # noqa: E402

from treatments.guarding import install_guards  # noqa: E402

FIRST = [
    ("clients", "0001_first_book"),
    ("treatments", "0001_first_book"),
    ("services", "0002_the_five_roles"),
]
EVENING = datetime(2025, 7, 7, 22, 30, tzinfo=UTC)
DAY = date(2025, 7, 7)
# What a row has where the first tables ask for a value and nothing better is told below.
USUAL = {
    models.CharField: "x",
    models.TextField: "Ten signs or more.",
    models.DateField: DAY,
    models.DateTimeField: EVENING,
    models.DecimalField: Decimal(1),
    models.PositiveIntegerField: 1,
    models.PositiveSmallIntegerField: 1,
    models.PositiveBigIntegerField: 1,
    models.TimeField: time(7),
}


def main():
    """Migrate to the first tables, guard records and ledger as the first book did, and fill all."""
    executor = MigrationExecutor(connection)
    others = [
        node
        for node in executor.loader.graph.leaf_nodes()
        if node[0] not in ("clients", "treatments", "services")
    ]
    executor.migrate([*others, *FIRST])
    install_guards()
    first = MigrationExecutor(connection).loader.project_state([*others, *FIRST])
    # A record and its line of the ledger are taken in one moment, which the first tables note.
    with patch("django.utils.timezone.now", return_value=EVENING):
        fill(Rows(first.apps))


class Rows:
    """Makes rows of models, by name, filled with what they must have."""

    def __init__(self, apps):
        self.apps = apps
        self.made = {}

    def add(self, label, **told):
        """Add a row; what it must belong to and is not told is the last row of that kind."""
        model = self.apps.get_model(label)
        for field in model._meta.concrete_fields:
            if field.attname not in told and field.name not in told and is_needed(field):
                told[field.name] = self.usual(field)
        self.made[model._meta.label] = model.objects.create(**told)
        return self.made[model._meta.label]

    def usual(self, field):
        """Return what a field has where nothing better is told."""
        if field.is_relation:
            return self.made[field.related_model._meta.label]
        return field.choices[0][0] if field.choices else USUAL[type(field)]


def is_needed(field):
    """Say whether the first tables ask for a value."""
    may_be_empty = field.blank and isinstance(field, (models.CharField, models.TextField))
    return not (field.primary_key or field.null or field.has_default() or may_be_empty)


def fill(rows):
    """Fill each table with a row or two."""
    owner = rows.add("auth.User", username="owner", password="!")
    owner.groups.add(rows.apps.get_model("auth.Group").objects.get(name="owner"))
    rows.add("clients.Client", name="Reading Society")
    rows.add("clients.Property", name="Library", jurisdiction="US-PA", latitude=40, longitude=-75)
    rows.add("clients.Planting", name="Rose bed", plant_group="rose", habit="bed")
    rows.add("clients.Neighbour", name="A neighbour", phone="555-0100")
    rows.add("clients.AccessWindow", closes=time(12))
    fill_treatments(rows)
    fill_services(rows)


def fill_treatments(rows):
    """Fill what is applied: labels, lots, a rotation, a record and the one that amends it."""
    rows.add("treatments.Business", name="A business of the beginning")
    rows.add("treatments.ActiveIngredient", name="potassium salts of fatty acids")
    rows.add("treatments.Pest", common_name="two-spotted spider mite")
    rows.add("treatments.Product", name="First Soap", formulation_code="SL")
    rows.add("treatments.ProductIngredient", percent_by_weight=Decimal(49))
    rows.add("treatments.LabelRate", plant_group="rose", basis="fl oz/gal")
    rows.add("treatments.Applicator", name="A. Holder")
    rows.add("treatments.Certificate", number="PA-1", jurisdiction="US-PA")
    rows.add("treatments.Lot", lot_number="F-1")
    rows.add("treatments.StockEntry", kind="received", amount=Decimal(128))
    rows.add("treatments.Sprayer", name="Backpack", kind="backpack")
    rows.add("treatments.Calibration", method="refill", expires_on=date(2026, 7, 7))
    rows.add("treatments.ScoutingCount", leaves_looked_at=20, leaves_infested=3)
    rows.add("treatments.Rotation", name="Mites on roses", plant_group="rose")
    rows.add("treatments.AcceptedWarning")
    product = rows.made["treatments.Product"]
    rows.add("treatments.RotationWeek", product=product, rate=Decimal(3), basis="fl oz/gal")
    told = {
        "lot": rows.made["treatments.Lot"],
        "recorded_by": rows.made["auth.User"],
        "jurisdiction": "US-PA",
        "time_zone": "America/New_York",
        "product_name": "First Soap",
        "product_unit": "fl oz",
        "rate_basis": "fl oz/gal",
    }
    first = rows.add("treatments.ApplicationRecord", number=1, product_amount=Decimal(9), **told)
    drawn = {"kind": "applied", "record": first, "happened_at": EVENING}
    rows.add("treatments.StockEntry", amount=Decimal(-9), **drawn)
    second = rows.add(
        "treatments.ApplicationRecord",
        number=2,
        product_amount=Decimal(8),
        amends=first,
        amendment_reason="It was eight ounces.",
        **told,
    )
    rows.add("treatments.StockEntry", amount=Decimal(1), **drawn | {"record": second})


def fill_services(rows):
    """Fill when and by whom: a course with a visit that was made, one that is held, a route."""
    rows.add("services.Yard", name="Yard", latitude=40, longitude=-75)
    rows.add("services.Crew", name="Crew one", shift_ends=time(17))
    rows.add("services.Truck", name="Truck one", crew=rows.made["services.Crew"])
    rows.add("services.Technician", crew=rows.made["services.Crew"])
    course = rows.add("services.Course")
    course.plantings.add(rows.made["clients.Planting"])
    done = rows.add("services.Visit", state="COMPLETED", completed_at=EVENING)
    done.records.add(*rows.apps.get_model("treatments.ApplicationRecord").objects.all())
    rows.add("treatments.RotationWeek", week=2, product=rows.made["treatments.Product"], rate=3,
             basis="fl oz/gal")  # fmt: skip
    rows.add("services.Dispatch", legs=[])
    rows.add("services.LoadLine")
    rows.add("services.Visit", dispatch=rows.made["services.Dispatch"], position=1)
    rows.add("services.Hold", reason="wind")
    rows.add("services.Outbox", kind="notice", done_at=EVENING, arguments={"visit": done.pk})
    rows.add("services.ClientLink")


if __name__ == "__main__":
    main()
