"""Statements of clients, frozen when they are given out; payments noted by hand; corrections."""

from decimal import Decimal

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q, Sum
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from clients.access import OFFICE, has_role
from services.models.courses import Visit
from services.rules.charging import Kind
from treatments.models.append_only import AppendOnly, AppendOnlyQuerySet

BY = _("by")
KINDS = [(Kind.SERVICE.value, _("work")), (Kind.PRODUCT.value, _("product"))]


def money_field(label, **options):
    """Return a column for US dollars."""
    return models.DecimalField(label, max_digits=11, decimal_places=2, **options)


def written_by(related_name, label=BY):
    """Return the column for who did something."""
    return models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name=related_name,
        verbose_name=label,
    )


class MoneyQuerySet(AppendOnlyQuerySet):
    """What clients are charged and pay, which the office alone is shown."""

    def for_user(self, user):
        """Pick the rows that a person may see: the office all, anybody else none."""
        return self if has_role(user, OFFICE) else self.none()


class Payment(AppendOnly):
    """Money that came, noted by hand; one noted wrongly is taken back by a second row."""

    class Way(models.TextChoices):
        """How somebody paid; the book itself moves no money."""

        CASH = "cash", _("in cash")
        CHECK = "check", _("by check")
        TRANSFER = "transfer", _("by bank transfer")
        CARD = "card", _("by card, outside this book")
        OTHER = "other", _("in another way")

    client = models.ForeignKey(
        "clients.Client", models.PROTECT, related_name="payments", verbose_name=_("client")
    )
    day = models.DateField(_("day"))
    amount = money_field(_("amount (USD)"))
    way = models.CharField(_("how"), max_length=8, choices=Way.choices)
    note = models.CharField(_("note"), max_length=200, blank=True)
    takes_back = models.OneToOneField(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="taken_back_by",
        verbose_name=_("takes back"),
    )
    noted_by = written_by("payments_noted", _("noted by"))
    noted_at = models.DateTimeField(_("noted"), default=timezone.now, editable=False)
    form_id = models.UUIDField(_("form"), unique=True, editable=False)

    objects = MoneyQuerySet.as_manager()  # type: ignore[misc]  # as of ApplicationRecord

    class Meta:
        ordering = ["day", "pk"]
        verbose_name = _("payment")
        verbose_name_plural = _("payments")
        constraints = [
            models.CheckConstraint(
                name="payment_is_more_than_nothing",
                condition=Q(takes_back__isnull=True, amount__gt=0)
                | Q(takes_back__isnull=False, amount__lt=0),
                violation_error_message=_("A payment is more than nothing."),
            ),
        ]

    def __str__(self):
        return f"{self.day} {self.amount}"

    def is_taken_back(self) -> bool:
        """Say whether a later row took the payment back."""
        return hasattr(self, "taken_back_by")


class ChargeCorrection(AppendOnly):
    """What is charged more or less than a statement said; it stands on the next one."""

    client = models.ForeignKey(
        "clients.Client",
        models.PROTECT,
        related_name="charge_corrections",
        verbose_name=_("client"),
    )
    property = models.ForeignKey(
        "clients.Property",
        models.PROTECT,
        related_name="charge_corrections",
        verbose_name=_("property"),
        help_text=_("Its place decides on the tax."),
    )
    visit = models.ForeignKey(
        Visit,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="charge_corrections",
        verbose_name=_("visit"),
    )
    day = models.DateField(_("day"), help_text=_("Whose tax rates count."))
    amount = money_field(
        _("amount (USD)"), help_text=_("Less than nothing where it is taken off the bill.")
    )
    kind = models.CharField(_("of"), max_length=7, choices=KINDS, default=Kind.SERVICE.value)
    words = models.CharField(_("in words"), max_length=200)
    made_by = written_by("charge_corrections")
    made_at = models.DateTimeField(_("entered"), default=timezone.now, editable=False)
    form_id = models.UUIDField(_("form"), unique=True, editable=False)

    objects = MoneyQuerySet.as_manager()  # type: ignore[misc]  # as of ApplicationRecord

    class Meta:
        ordering = ["day", "pk"]
        verbose_name = _("correction of a charge")
        verbose_name_plural = _("corrections of charges")
        constraints = [
            models.CheckConstraint(
                name="charge_correction_changes_something",
                condition=~Q(amount=0),
                violation_error_message=_("A correction is more or less than nothing."),
            ),
        ]

    def __str__(self):
        return f"{self.words} {self.amount}"


class Statement(AppendOnly):
    """What a client owes for a period, as it was given out; later changes are later lines.

    carried: the balance of the statement before; paid: what was noted since that one
    taxes: rows of name, place, percent, base and amount, as they were reckoned
    """

    number = models.PositiveIntegerField(_("number"), unique=True, editable=False)
    client = models.ForeignKey(
        "clients.Client", models.PROTECT, related_name="statements", verbose_name=_("client")
    )
    client_name = models.CharField(_("client"), max_length=200)
    client_address = models.CharField(_("address"), max_length=500, blank=True)
    language = models.CharField(_("language"), max_length=2)
    first_day = models.DateField(_("from"))
    last_day = models.DateField(_("until"))
    given_at = models.DateTimeField(_("given out"))
    given_by = written_by("statements_given", _("given out by"))
    lines_total = money_field(_("sum of lines (USD)"))
    taxes = models.JSONField(_("tax"), default=list, blank=True)
    tax_total = money_field(_("tax (USD)"))
    total = money_field(_("total (USD)"))
    carried = money_field(_("balance before (USD)"))
    paid = money_field(_("paid since (USD)"))
    balance = money_field(_("balance (USD)"))
    payments = models.ManyToManyField(
        Payment, related_name="statements", blank=True, verbose_name=_("payments since")
    )
    form_id = models.UUIDField(_("form"), unique=True, editable=False)

    objects = MoneyQuerySet.as_manager()  # type: ignore[misc]  # as of ApplicationRecord

    class Meta:
        ordering = ["-number"]
        verbose_name = _("statement")
        verbose_name_plural = _("statements")
        constraints = [
            models.CheckConstraint(
                name="statement_period_in_order",
                condition=Q(last_day__gte=models.F("first_day")),
                violation_error_message=_("The period ends after it begins."),
            ),
        ]

    def __str__(self):
        return str(self.number)

    def clean(self):
        """Refuse sums that do not add up."""
        if self.lines_total + self.tax_total != self.total:
            raise ValidationError(_("Lines and tax do not add up to the total."))
        if self.carried - self.paid + self.total != self.balance:
            raise ValidationError(_("The balance does not follow from the sums."))


class StatementLine(AppendOnly):
    """One charge of a statement: a visit, once in all, or a correction."""

    statement = models.ForeignKey(
        Statement, models.PROTECT, related_name="lines", verbose_name=_("statement")
    )
    place_in_order = models.PositiveSmallIntegerField(_("line"), validators=[MinValueValidator(1)])
    visit = models.OneToOneField(
        Visit,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="statement_line",
        verbose_name=_("visit"),
    )
    correction = models.OneToOneField(
        ChargeCorrection,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="statement_line",
        verbose_name=_("correction"),
    )
    rule = models.ForeignKey(
        "services.PriceRule",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="statement_lines",
        verbose_name=_("price rule"),
    )
    day = models.DateField(_("day"))
    words = models.CharField(_("what"), max_length=500)
    priced = models.CharField(_("by which price"), max_length=300, blank=True)
    kind = models.CharField(_("of"), max_length=7, choices=KINDS)
    jurisdiction = models.CharField(_("state"), max_length=6)
    county = models.CharField(_("county"), max_length=100, blank=True)
    amount = money_field(_("amount (USD)"))

    class Meta:
        ordering = ["statement", "place_in_order"]
        verbose_name = _("line of a statement")
        verbose_name_plural = _("lines of statements")
        constraints = [
            models.UniqueConstraint(
                "statement", "place_in_order", name="statement_line_once_a_place"
            ),
            models.CheckConstraint(
                name="statement_line_is_a_visit_or_a_correction",
                condition=Q(visit__isnull=False, correction__isnull=True)
                | Q(visit__isnull=True, correction__isnull=False),
            ),
        ]

    def __str__(self):
        return f"{self.statement}, {self.words}"


class StatementPaper(AppendOnly):
    """The paper of a statement as it was given out, so that it stays the same whatever changes."""

    statement = models.OneToOneField(
        Statement, models.PROTECT, related_name="paper", verbose_name=_("statement")
    )
    pdf = models.BinaryField(_("PDF"))
    sha256 = models.CharField(_("SHA-256"), max_length=64)

    class Meta:
        verbose_name = _("paper of a statement")
        verbose_name_plural = _("papers of statements")

    def __str__(self):
        return str(self.statement)


def balance_of(client) -> Decimal:
    """Return what a client owes by all statements and payments, in US dollars."""
    charged = Statement.objects.filter(client=client).aggregate(sum=Sum("total"))["sum"]
    paid = Payment.objects.filter(client=client).aggregate(sum=Sum("amount"))["sum"]
    return ((charged or Decimal(0)) - (paid or Decimal(0))).quantize(Decimal("0.01"))
