"""Earlier applications: what was applied before this book, taken over from elsewhere."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, has_role, reachable_properties
from treatments.models.products import Product, amount_field


class EarlierApplicationQuerySet(models.QuerySet):
    """Ways to pick earlier applications that read as the trade says them."""

    def for_user(self, user):
        """Pick those of the properties a person may see."""
        if has_role(user, STAFF):
            return self
        return self.filter(planting__property__in=reachable_properties(user))


class EarlierApplication(models.Model):
    """What another book says was applied on a planting; not a record of this one.

    It was not made here, nobody vouches here for what it says or leaves out, and it stands in no
    return, register or journal.  Where its product is known it counts against the limits and
    intervals of labels, which can only make a plan stricter.
    """

    planting = models.ForeignKey(
        "clients.Planting",
        models.PROTECT,
        related_name="earlier_applications",
        verbose_name=_("planting"),
    )
    applied_on = models.DateField(_("applied"))
    product = models.ForeignKey(
        Product,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="earlier_applications",
        verbose_name=_("product in this book"),
    )
    product_name = models.CharField(_("product name"), max_length=120)
    epa_registration_number = models.CharField(
        _("EPA registration number"), max_length=24, blank=True
    )
    product_amount = amount_field(_("total product"), null=True, blank=True)
    product_unit = models.CharField(
        _("unit"), max_length=5, choices=Product.StockUnit.choices, blank=True
    )
    treated_area_sq_ft = models.DecimalField(
        _("treated area (sq ft)"), max_digits=10, decimal_places=1, null=True, blank=True
    )
    target_pest = models.CharField(_("target pest"), max_length=300, blank=True)
    applicator_name = models.CharField(_("applicator"), max_length=200, blank=True)
    applicator_licence_number = models.CharField(
        _("applicator's license number"), max_length=40, blank=True
    )
    lot_number = models.CharField(_("lot number"), max_length=60, blank=True)
    note = models.TextField(_("note"), max_length=1000, blank=True)
    taken_from = models.CharField(
        _("taken over from"),
        max_length=200,
        help_text=_("Where it was kept before, such as the name of a file."),
    )
    taken_over_at = models.DateTimeField(_("taken over"))
    taken_over_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="earlier_applications",
        verbose_name=_("taken over by"),
    )

    objects = EarlierApplicationQuerySet.as_manager()

    class Meta:
        ordering = ["-applied_on", "-pk"]
        verbose_name = _("earlier application")
        verbose_name_plural = _("earlier applications")
        indexes = [models.Index(fields=["planting", "-applied_on"], name="earlier_planting_day")]
        constraints = [
            models.CheckConstraint(
                name="earlier_amount_has_a_unit",
                condition=Q(product_amount__isnull=True) | ~Q(product_unit=""),
                violation_error_message=_("Give the unit of the amount: fl oz or oz."),
            ),
        ]

    def __str__(self):
        return f"{self.applied_on}: {self.product_name}, {self.planting}"
