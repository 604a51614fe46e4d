"""The application record: the legal record of one product on one planting at one visit."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery
from django.db.models.functions import Length
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, Role, has_role, reachable_properties, role_of
from clients.stretches import values_of
from treatments.models.append_only import AppendOnly, AppendOnlyQuerySet
from treatments.models.inspecting import opened_to
from treatments.models.journal import Disposal
from treatments.models.kinds import KIND
from treatments.models.products import amount_field
from treatments.rules.units import Basis

models.TextField.register_lookup(Length)


def copied_text(label, length=300, **options):
    """Return a column that copies a text as it was on the day."""
    return models.CharField(label, max_length=length, blank=True, **options)


def measured(label, digits=5, places=1, **options):
    """Return a column for what was measured on the spot; empty means not measured."""
    return models.DecimalField(
        label, max_digits=digits, decimal_places=places, null=True, blank=True, **options
    )


class ApplicationRecordQuerySet(AppendOnlyQuerySet):
    """Ways to pick records that read as the trade says them.

    What must not be is asked with NOT EXISTS: of an outer join whose other side is empty PostgreSQL
    believes that next to nothing is left, and then reads the whole table to find it.
    """

    def for_user(self, user):
        """Pick the records a person may see: an inspector those that a grant opens.

        Of one that was disposed of nothing is left to see.
        """
        kept = self.filter(~Exists(Disposal.objects.filter(record=OuterRef("pk"))))
        if has_role(user, STAFF):
            return kept
        if role_of(user) is Role.INSPECTOR:
            return kept.filter(opened_to(user, timezone.now(), values_of(kept, "time_zone")))
        return kept.filter(planting__property__in=reachable_properties(user))

    def current(self):
        """Pick the records that no later one amends and that are not void."""
        return self.filter(
            ~Exists(self.model._default_manager.filter(amends=OuterRef("pk"))), void=False
        )

    def with_neighbours(self):
        """Tell of each the number of the record it amends, and of the one that amends it.

        Each is looked up by its key.  Were they joined, SQLite would read all records for them once
        it has counted how seldom one amends another.
        """
        others = ApplicationRecord.objects.order_by()
        return self.annotate(
            amended_by_number=Subquery(others.filter(amends=OuterRef("pk")).values("number")),
            amends_number=Subquery(others.filter(pk=OuterRef("amends_id")).values("number")),
        )


class ApplicationRecord(AppendOnly):
    """What was applied, as it was on the day.

    The record repeats what the product, the property and the certificate said, so that a later
    change of them leaves it as it was.  It is not edited: a wrong record is amended by a second
    one, which names the first.  `done_at` is as stated, `captured_at` when a device wrote it,
    `received_at` when this server took it; none is rewritten.
    """

    number = models.PositiveBigIntegerField(_("number"), unique=True, editable=False)
    planting = models.ForeignKey(
        "clients.Planting", models.PROTECT, related_name="applications", verbose_name=_("planting")
    )
    lot = models.ForeignKey(
        "treatments.Lot",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="applications",
        verbose_name=_("lot"),
    )
    product = models.ForeignKey(
        "treatments.Product",
        models.PROTECT,
        related_name="applications",
        verbose_name=_("product"),
    )
    pest = models.ForeignKey(
        "treatments.Pest", models.PROTECT, related_name="applications", verbose_name=_("pest")
    )

    started_at = models.DateTimeField(_("started"))
    done_at = models.DateTimeField(_("completed"))
    captured_at = models.DateTimeField(_("written down"))
    received_at = models.DateTimeField(_("received"), default=timezone.now, editable=False)
    from_paper = models.BooleanField(_("entered from paper"), default=False)
    time_zone = copied_text(_("time zone"), 64)
    jurisdiction = copied_text(_("jurisdiction"), 6)
    production_site = models.BooleanField(_("production site"), default=False)
    reentry_at = models.DateTimeField(_("re-entry allowed"), null=True, blank=True)
    reentry_words = copied_text(_("re-entry"))

    customer_name = copied_text(_("customer"))
    customer_address = copied_text(_("customer's address"))
    customer_phone = copied_text(_("customer's telephone"), 40)
    site_address = copied_text(_("site address"))
    county = copied_text(_("county"), 100)
    site_description = copied_text(_("site or planting treated"))
    treated_area_sq_ft = measured(_("treated area (sq ft)"), digits=10)
    plants = models.PositiveIntegerField(_("plants treated"), null=True, blank=True)
    target_pest = copied_text(_("target pest"))

    product_name = copied_text(_("product name"), 120)
    epa_registration_number = copied_text(_("EPA registration number"), 24)
    active_ingredients = copied_text(_("active ingredients"))
    mode_of_action_groups = copied_text(_("mode-of-action groups"), 60)
    formulation = copied_text(_("formulation"), 60)
    signal_word = copied_text(_("signal word"), 14)
    restricted_use = models.BooleanField(_("restricted use"), default=False)
    label_version = copied_text(_("label version"), 60)
    first_aid = models.TextField(_("first aid as printed"), max_length=2000, blank=True)
    lot_number = copied_text(_("lot number"), 60)
    supplier_name = copied_text(_("supplier"), 200)
    rate = amount_field(_("rate"))
    rate_basis = models.CharField(
        _("basis"), max_length=16, choices=[(b.value, b.value) for b in Basis]
    )
    product_amount = amount_field(_("total product"))
    product_unit = models.CharField(_("unit"), max_length=5)
    mix_gallons = amount_field(_("total mix (gal)"))
    dilution = copied_text(_("dilution"))
    adjuvant = copied_text(_("adjuvant"))

    applicator = models.ForeignKey(
        "treatments.Applicator",
        models.PROTECT,
        related_name="applications",
        verbose_name=_("applicator"),
    )
    applicator_name = copied_text(_("applicator"), 200)
    applicator_licence_number = copied_text(_("applicator's license number"), 40)
    supervisor_name = copied_text(_("supervisor"), 200)
    supervisor_licence_number = copied_text(_("supervisor's license number"), 40)
    uncertified_applicator_name = copied_text(_("uncertified person who applied"), 200)
    training_proof = copied_text(_("proof of training"))
    recommender_name = copied_text(_("recommended by"), 200)
    business_name = copied_text(_("business"), 200)
    business_address = copied_text(_("business address"))
    business_licence_number = copied_text(_("business license number"), 60)
    insurance = copied_text(_("insurance"))
    permit_number = copied_text(_("permit number"), 60)
    method = copied_text(_("method and equipment"))
    protective_equipment = copied_text(_("protective equipment worn"), 1000)

    wind_mph = measured(_("wind speed (mph)"), validators=[MinValueValidator(0)])
    wind_direction = copied_text(_("wind from"), 12)
    temperature_f = measured(_("air temperature (°F)"))
    humidity_percent = measured(
        _("relative humidity (%)"), validators=[MinValueValidator(0), MaxValueValidator(100)]
    )
    weather = copied_text(_("other weather"))
    posted_at = models.DateTimeField(_("sign posted"), null=True, blank=True)
    posting = copied_text(_("posting"))
    removal_at = models.DateTimeField(_("sign may come down"), null=True, blank=True)
    notices = models.TextField(_("notices given"), max_length=4000, blank=True)
    incident = models.TextField(_("incident"), max_length=4000, blank=True)
    disposal = copied_text(_("disposal"))
    worker_protection_exchange = copied_text(_("worker protection exchange"))
    note = models.TextField(_("note"), max_length=4000, blank=True)
    rules_checked_by = copied_text(_("checked by the rules"))
    flags = models.JSONField(_("flags"), default=list, blank=True)

    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="records_written",
        verbose_name=_("recorded by"),
    )
    event_id = models.UUIDField(_("event"), unique=True, null=True, blank=True, editable=False)
    amends = models.OneToOneField(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="amended_by",
        verbose_name=_("amends"),
    )
    amendment_reason = models.TextField(_("reason of the amendment"), max_length=1000, blank=True)
    void = models.BooleanField(_("void"), default=False)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="records_approved",
        verbose_name=_("approved by"),
    )
    approved_at = models.DateTimeField(_("approved"), null=True, blank=True)

    # The stubs take a manager that overrides another's for a variable of the instance.
    objects = ApplicationRecordQuerySet.as_manager()  # type: ignore[misc]

    class Meta:
        ordering = ["-done_at", "-number"]
        verbose_name = _("application record")
        verbose_name_plural = _("application records")
        indexes = [
            models.Index(fields=["planting", "-done_at"], name="record_planting_done"),
            models.Index(fields=["-done_at", "-number"], name="record_done_number"),
            models.Index(fields=["posted_at"], name="record_posted"),
            models.Index(fields=["product_name", "number"], name="record_product_number"),
            models.Index(fields=["applicator_name", "number"], name="record_applicator_number"),
            models.Index(
                fields=["jurisdiction", "restricted_use", "done_at"], name="record_place_use_done"
            ),
            models.Index(KIND, "done_at", "number", name="record_kind_done"),
            models.Index(
                fields=["amends"], condition=Q(amends__isnull=False), name="record_amending"
            ),
            models.Index(fields=["done_at"], condition=Q(void=True), name="record_void"),
            models.Index(fields=["supervisor_licence_number"], name="record_supervisor"),
            models.Index(fields=["time_zone"], name="record_time_zone"),
        ]
        constraints = [
            models.CheckConstraint(
                name="record_ends_after_it_starts",
                condition=Q(done_at__gte=F("started_at")),
                violation_error_message=_("An application is completed after it started."),
            ),
            models.CheckConstraint(
                name="record_amendment_has_a_reason",
                condition=Q(amends__isnull=True, void=False) | Q(amendment_reason__length__gte=10),
                violation_error_message=_("Give the reason of the amendment in ten signs or more."),
            ),
            models.CheckConstraint(
                name="record_amounts_positive",
                condition=Q(product_amount__gt=0, mix_gallons__gt=0, rate__gt=0),
                violation_error_message=_("Something was applied."),
            ),
        ]

    def __str__(self):
        return f"{self.number}: {self.product_name}, {self.site_description}"

    def earlier(self) -> "list[ApplicationRecord]":
        """Return the records that this one corrects, the first of them first."""
        return [] if self.amends is None else [*self.amends.earlier(), self.amends]
