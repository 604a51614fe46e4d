"""The pesticide store: lots, and a ledger that only grows."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import DecimalField, F, Q, Sum
from django.db.models.functions import Coalesce, Round
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly

AMOUNT = DecimalField(max_digits=13, decimal_places=3)


class LotQuerySet(models.QuerySet):
    """Ways to pick lots that read as the trade says them."""

    def with_balance(self):
        """Add what is left of each lot, summed from its ledger."""
        # SQLite adds decimals as floats; rounding to the ledger's places takes the dust away.
        total = Coalesce(Sum("entries__amount"), Decimal(0), output_field=AMOUNT)
        return self.annotate(balance=Round(total, precision=3, output_field=AMOUNT))

    def first_expiry_first(self):
        """Order so that what expires first is used first; undated lots by their arrival."""
        return self.order_by(F("expires_on").asc(nulls_last=True), "received_on", "pk")


class Lot(models.Model):
    """The manufacturer's batch of a product in the store."""

    product = models.ForeignKey(
        "treatments.Product", models.PROTECT, related_name="lots", verbose_name=_("product")
    )
    lot_number = models.CharField(
        _("lot number"),
        max_length=60,
        blank=True,
        help_text=_("As marked on the container; say why when it is not marked."),
    )
    not_marked_reason = models.CharField(_("why it is not marked"), max_length=200, blank=True)
    received_on = models.DateField(_("received"))
    expires_on = models.DateField(_("expires"), null=True, blank=True)
    opened_on = models.DateField(_("opened"), null=True, blank=True)
    unit_cost = models.DecimalField(
        _("cost a unit (USD)"), max_digits=8, decimal_places=4, null=True, blank=True
    )

    balance: Decimal  # what `with_balance` adds

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["product", "expires_on", "pk"]
        verbose_name = _("lot")
        verbose_name_plural = _("lots")
        constraints = [
            models.CheckConstraint(
                name="lot_is_marked_or_says_why",
                condition=~Q(lot_number="") | ~Q(not_marked_reason=""),
                violation_error_message=_("Give the lot number, or say why it is not marked."),
            ),
            models.UniqueConstraint(
                "product",
                "lot_number",
                name="lot_number_once_a_product",
                condition=~Q(lot_number=""),
            ),
        ]

    def __str__(self):
        number = self.lot_number or _("(not marked)")
        return f"{self.product} {number}"

    def left(self) -> Decimal:
        """Return what is left of the lot, summed from its ledger."""
        return _sum_of(self.entries.all())

    def left_at(self, locker: "Locker | None") -> Decimal:
        """Return what is left of the lot on a truck, or on the shelf where none is given."""
        return _sum_of(self.entries.filter(locker=locker))


def _sum_of(entries: models.QuerySet) -> Decimal:
    left = entries.aggregate(left=Sum("amount"))["left"] or Decimal(0)
    return left.quantize(Decimal("0.001"))


class Locker(models.Model):
    """The locked box of a truck; a lot lies on the shelf of the store, or in one of these.

    It goes by the name of its truck, which the app above knows and writes here.
    """

    name = models.CharField(_("truck"), max_length=100)

    class Meta:
        ordering = ["name", "pk"]
        verbose_name = _("locker of a truck")
        verbose_name_plural = _("lockers of trucks")

    def __str__(self):
        return self.name


class StockEntry(AppendOnly):
    """One line of the ledger; the balance of a lot is the sum of its lines."""

    class Kind(models.TextChoices):
        """Why the stock changed."""

        RECEIVED = "received", _("received")
        APPLIED = "applied", _("applied")
        COUNTED = "counted", _("counted")
        RETURNED = "returned", _("returned")
        DISPOSED = "disposed", _("disposed")
        MOVED = "moved", _("moved")

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="entries", verbose_name=_("lot"))
    kind = models.CharField(_("kind"), max_length=8, choices=Kind.choices)
    amount = models.DecimalField(
        _("amount"),
        max_digits=10,
        decimal_places=3,
        help_text=_("In the unit of the product; negative when it leaves the store."),
    )
    happened_at = models.DateTimeField(_("when"))
    entered_at = models.DateTimeField(_("entered"), default=timezone.now, editable=False)
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="stock_entries",
        verbose_name=_("entered by"),
    )
    record = models.ForeignKey(
        "treatments.ApplicationRecord",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="stock_entries",
        verbose_name=_("application record"),
    )
    locker = models.ForeignKey(
        Locker,
        models.PROTECT,
        null=True,
        blank=True,
        db_index=False,
        related_name="stock_entries",
        verbose_name=_("truck"),
        help_text=_("Where it lies; on the shelf of the store where no truck is named."),
    )
    # What a crew used of its truck's, and what came back there by a correction.
    moved_for = models.ForeignKey(
        "treatments.ApplicationRecord",
        models.PROTECT,
        null=True,
        blank=True,
        db_index=False,
        related_name="moves",
        verbose_name=_("moved for the record"),
    )
    note = models.CharField(_("note"), max_length=200, blank=True)
    form_id = models.UUIDField(_("form"), null=True, editable=False)

    class Meta:
        ordering = ["lot", "happened_at", "pk"]
        verbose_name = _("stock entry")
        verbose_name_plural = _("stock entries")
        indexes = [
            models.Index(
                fields=["lot", "locker"],
                name="stock_entry_on_trucks",
                condition=Q(locker__isnull=False),
            ),
            models.Index(
                fields=["moved_for"],
                name="stock_entry_moved_for",
                condition=Q(moved_for__isnull=False),
            ),
        ]
        constraints = [
            models.CheckConstraint(
                name="stock_entry_on_a_truck_is_of_no_record",
                condition=Q(locker__isnull=True)
                | Q(kind__in=["moved", "counted", "disposed"], record__isnull=True),
                violation_error_message=_("What arrives or is applied goes by the store."),
            ),
            models.CheckConstraint(
                name="stock_entry_moves_something",
                condition=~Q(amount=0) | Q(kind="counted"),
                violation_error_message=_("A stock entry adds or takes something."),
            ),
            models.CheckConstraint(
                name="stock_entry_sign_fits_its_kind",
                condition=Q(kind__in=["counted", "moved"])
                | Q(kind__in=["received", "returned"], amount__gt=0)
                | Q(kind__in=["applied", "disposed"], amount__lt=0)
                | Q(kind="applied", record__isnull=False),
                violation_error_message=_("What leaves the store is negative."),
            ),
            models.UniqueConstraint(
                "form_id",
                name="stock_entry_once_a_form",
                condition=Q(form_id__isnull=False),
                violation_error_message=_("This form_id was used for something else."),
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} {self.amount} ({self.lot})"
