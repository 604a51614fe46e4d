"""Planting: what is scouted and treated as one."""

from decimal import Decimal

from django.core.validators import MinValueValidator, RegexValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, has_role, reachable_properties

MONTH_AND_DAY = r"^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])\Z"
ON_A_DAY = RegexValidator(MONTH_AND_DAY, _("Write month and day, as 05-20."))
EPPO_CODE = RegexValidator(
    r"^[A-Z0-9]{5,7}\Z", _("Write five to seven capital letters or digits, as TETRUR.")
)
POSITIVE = [MinValueValidator(Decimal("0.1"))]


class Habit(models.TextChoices):
    """How a planting stands, which decides how its area is measured."""

    HEDGE = "hedge", _("hedge")
    BED = "bed", _("bed")
    LAWN = "lawn", _("lawn")
    TREE = "tree", _("tree")
    CONTAINER = "container", _("container")


class PlantGroup(models.TextChoices):
    """The groups by which pesticide labels name their sites."""

    ORNAMENTAL_SHRUB = "ornamental shrub", _("ornamental shrubs")
    ROSE = "rose", _("roses")
    CONIFER = "conifer", _("conifers")
    SHADE_TREE = "shade tree", _("shade and ornamental trees")
    HERBACEOUS = "herbaceous ornamental", _("herbaceous ornamentals")
    LAWN = "lawn", _("lawns")
    EDIBLE = "edible crop", _("fruit, vegetables and herbs")


class PlantingQuerySet(models.QuerySet):
    """Ways to pick plantings that read as the trade says them."""

    def for_user(self, user):
        """Pick the plantings of the properties a person may see."""
        if has_role(user, STAFF):
            return self
        return self.filter(property__in=reachable_properties(user))


class Planting(models.Model):
    """A hedge, bed, lawn, tree or container that is scouted and treated as one."""

    class Irrigation(models.TextChoices):
        """How it is watered."""

        NONE = "none", _("none")
        DRIP = "drip", _("drip")
        OVERHEAD = "overhead", _("overhead")

    property = models.ForeignKey(
        "clients.Property", models.PROTECT, related_name="plantings", verbose_name=_("property")
    )
    name = models.CharField(_("name"), max_length=200)
    common_name = models.CharField(_("plant"), max_length=100)
    species = models.CharField(_("scientific name"), max_length=100)
    eppo_code = models.CharField(
        _("EPPO code"),
        max_length=7,
        blank=True,
        validators=[
            RegexValidator(
                r"^[A-Z0-9]{5,7}\Z", _("Five to seven capital letters or digits, as TETRUR.")
            )
        ],
        help_text=_("Five to seven signs, as in the EPPO database; blank when not known."),
    )
    plant_group = models.CharField(_("site on labels"), max_length=24, choices=PlantGroup.choices)
    habit = models.CharField(_("habit"), max_length=10, choices=Habit.choices)
    plants = models.PositiveIntegerField(_("number of plants"), default=1)
    length_ft = models.DecimalField(
        _("length (ft)"), max_digits=7, decimal_places=1, validators=POSITIVE
    )
    width_ft = models.DecimalField(
        _("width (ft)"), max_digits=7, decimal_places=1, validators=POSITIVE
    )
    height_ft = models.DecimalField(
        _("height (ft)"), max_digits=5, decimal_places=1, default=Decimal(1), validators=POSITIVE
    )
    faces = models.PositiveSmallIntegerField(
        _("faces treated"),
        default=2,
        help_text=_("Long sides of a hedge that are sprayed, 1 or 2; the top is counted apart."),
    )
    top_treated = models.BooleanField(_("top treated"), default=True)
    measured_area_sq_ft = models.DecimalField(
        _("measured treated area (sq ft)"),
        max_digits=9,
        decimal_places=1,
        null=True,
        blank=True,
        validators=POSITIVE,
        help_text=_("When it was measured apart from length, width and height."),
    )
    bloom_start = models.CharField(
        _("bloom starts"),
        max_length=5,
        blank=True,
        validators=[ON_A_DAY],
        help_text=_("Month and day, as 05-20."),
    )
    bloom_end = models.CharField(
        _("bloom ends"),
        max_length=5,
        blank=True,
        validators=[ON_A_DAY],
    )
    attracts_bees = models.BooleanField(_("visited by bees in bloom"), default=False)
    edible = models.BooleanField(_("edible"), default=False)
    harvest_on = models.DateField(_("next harvest"), null=True, blank=True)
    waxy_leaf = models.BooleanField(_("waxy leaf"), default=False)
    drought_stressed = models.BooleanField(_("drought-stressed"), default=False)
    irrigation = models.CharField(
        _("irrigation"), max_length=8, choices=Irrigation.choices, default=Irrigation.NONE
    )
    note = models.TextField(_("note"), max_length=1000, blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = PlantingQuerySet.as_manager()

    class Meta:
        ordering = ["property", "name"]
        verbose_name = _("planting")
        verbose_name_plural = _("plantings")
        constraints = [
            models.UniqueConstraint("property", "name", name="planting_name_once_a_property"),
            models.CheckConstraint(
                name="planting_has_extent",
                condition=Q(length_ft__gt=0, width_ft__gt=0, height_ft__gt=0, plants__gt=0),
                violation_error_message=_("A planting has length, width and height."),
            ),
            models.CheckConstraint(
                name="planting_faces_one_or_two",
                condition=Q(faces__in=[1, 2]),
                violation_error_message=_("One or two long faces are treated."),
            ),
            models.CheckConstraint(
                name="planting_bloom_has_both_ends_or_none",
                condition=Q(bloom_start="", bloom_end="") | (~Q(bloom_start="") & ~Q(bloom_end="")),
                violation_error_message=_("Give both ends of the bloom, or neither."),
            ),
            models.CheckConstraint(
                name="planting_harvest_only_when_edible",
                condition=Q(edible=True) | Q(harvest_on__isnull=True),
                violation_error_message=_("Only an edible planting has a harvest."),
            ),
        ]

    def __str__(self):
        return f"{self.name}, {self.property}"

    def blooms_on(self, day):
        """Say whether it is expected to flower on a date; the season may run over New Year."""
        if not self.bloom_start:
            return False
        today = f"{day:%m-%d}"
        if self.bloom_start <= self.bloom_end:
            return self.bloom_start <= today <= self.bloom_end
        return today >= self.bloom_start or today <= self.bloom_end
