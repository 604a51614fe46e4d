"""Pests, and the counts that scouting finds of them."""

from django.conf import settings
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, has_role, reachable_properties
from treatments.models.fields import CodeListField
from treatments.models.products import STAGES
from treatments.rules.findings import Named


class Pest(models.Model):
    """An insect, mite or disease by its common and scientific name and EPPO code."""

    common_name = models.CharField(_("common name"), max_length=100, unique=True)
    spanish_name = models.CharField(_("Spanish name"), max_length=100, blank=True)
    scientific_name = models.CharField(_("scientific name"), max_length=100)
    eppo_code = models.CharField(
        _("EPPO code"), max_length=7, blank=True, validators=[RegexValidator(r"^[A-Z0-9]{5,7}\Z")]
    )
    stages = CodeListField(_("stages counted"), codes=STAGES)
    threshold = models.DecimalField(
        _("threshold"),
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        help_text=_("Living pests a leaf at which treating pays."),
    )
    threshold_source = models.CharField(
        _("where the threshold is from"), max_length=200, blank=True
    )
    is_mite = models.BooleanField(_("mite"), default=False)

    class Meta:
        ordering = ["common_name"]
        verbose_name = _("pest")
        verbose_name_plural = _("pests")

    def __str__(self):
        return self.name_in(get_language())

    def name_in(self, language):
        """Return the common name in a language, English where there is no other."""
        return self.spanish_name if language == "es" and self.spanish_name else self.common_name

    def named(self):
        """Return the common name as the rules take it, with the name it has in Spanish."""
        return Named(self.common_name, {"es": self.spanish_name} if self.spanish_name else {})


class ScoutingCountQuerySet(models.QuerySet):
    """Ways to pick counts that read as the trade says them."""

    def for_user(self, user):
        """Pick the counts of the properties a person may see."""
        if has_role(user, STAFF):
            return self
        return self.filter(planting__property__in=reachable_properties(user))


class ScoutingCount(models.Model):
    """A dated count on a planting: leaves looked at, leaves infested, counts by life stage."""

    planting = models.ForeignKey(
        "clients.Planting", models.PROTECT, related_name="counts", verbose_name=_("planting")
    )
    pest = models.ForeignKey(Pest, models.PROTECT, related_name="counts", verbose_name=_("pest"))
    scouted_at = models.DateTimeField(_("scouted"))
    scouted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="counts",
        verbose_name=_("by"),
    )
    leaves_looked_at = models.PositiveIntegerField(_("leaves looked at"))
    leaves_infested = models.PositiveIntegerField(_("leaves infested"))
    eggs = models.PositiveIntegerField(_("eggs"), default=0)
    larvae = models.PositiveIntegerField(_("larvae"), default=0)
    nymphs = models.PositiveIntegerField(_("nymphs"), default=0)
    adults = models.PositiveIntegerField(_("adults"), default=0)
    predators = models.PositiveIntegerField(_("natural enemies"), default=0)
    untreated_reference = models.ForeignKey(
        "clients.Planting",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="held_against",
        verbose_name=_("held against, left untreated"),
        help_text=_(
            "A planting with the same pest that is counted on the same days and not sprayed; "
            "without one nobody knows what the weather did."
        ),
    )
    note = models.TextField(_("note"), max_length=1000, blank=True)

    objects = ScoutingCountQuerySet.as_manager()

    class Meta:
        ordering = ["planting", "scouted_at"]
        verbose_name = _("count")
        verbose_name_plural = _("counts")
        constraints = [
            models.UniqueConstraint(
                "planting", "pest", "scouted_at", name="count_once_a_planting_pest_and_time"
            ),
            models.CheckConstraint(
                name="count_looks_at_leaves",
                condition=Q(leaves_looked_at__gt=0, leaves_infested__lte=F("leaves_looked_at")),
                violation_error_message=_("Not more leaves can be infested than were looked at."),
            ),
            models.CheckConstraint(
                name="count_on_clean_leaves_is_zero",
                condition=Q(leaves_infested__gt=0) | Q(eggs=0, larvae=0, nymphs=0, adults=0),
                violation_error_message=_("Where something was counted, a leaf is infested."),
            ),
            models.CheckConstraint(
                name="count_is_held_against_another_planting",
                condition=Q(untreated_reference__isnull=True)
                | ~Q(untreated_reference=F("planting")),
                violation_error_message=_("A planting is not held against itself."),
            ),
        ]

    def __str__(self):
        return f"{self.pest}, {self.planting}, {self.scouted_at:%Y-%m-%d}"

    def motiles_per_leaf(self):
        """Return the living pests without eggs, a leaf looked at."""
        return (self.larvae + self.nymphs + self.adults) / self.leaves_looked_at

    def infested_share(self):
        """Return the share of leaves that were infested, from 0 to 1."""
        return self.leaves_infested / self.leaves_looked_at
