"""Active ingredients, products and the rates of their labels."""

from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.text import format_lazy
from django.utils.translation import gettext, gettext_lazy
from django.utils.translation import gettext_lazy as _

from clients.models import PlantGroup
from treatments.models.fields import CodeListField
from treatments.rules.facts import BloomRule, SeparationClass, SignalWord
from treatments.rules.protection import ITEMS
from treatments.rules.registration import (
    FORMULATIONS,
    RegistrationNumberMalformed,
    check_registration_number,
)
from treatments.rules.units import Basis, Unit

NOT_NEGATIVE = [MinValueValidator(Decimal(0))]
EQUIPMENT = [(item.code, gettext_lazy(item.name)) for item in ITEMS.values()]
STAGES = [("egg", _("egg")), ("larva", _("larva")), ("nymph", _("nymph")), ("adult", _("adult"))]


def validate_registration_number(text):
    """Accept only what has the form of an EPA registration number."""
    try:
        check_registration_number(text)
    except RegistrationNumberMalformed as wrong:
        raise ValidationError(wrong.say(gettext), code="registration_number") from wrong


def amount_field(label, **options):
    """Return a decimal column for an amount, with three places."""
    return models.DecimalField(
        label, max_digits=10, decimal_places=3, validators=NOT_NEGATIVE, **options
    )


def limit_field(label, **options):
    """Return a column for a limit of the label; empty means that the label is silent."""
    return amount_field(label, null=True, blank=True, **options)


class ActiveIngredient(models.Model):
    """What works in a product, with its mode of action as IRAC or FRAC group."""

    class BeeHazard(models.TextChoices):
        """How dangerous it is to bees."""

        LOW = "low", _("low")
        MODERATE = "moderate", _("moderate")
        HIGH = "high", _("high")

    name = models.CharField(_("common name"), max_length=120, unique=True)
    irac_group = models.CharField(_("IRAC group"), max_length=4, blank=True)
    frac_group = models.CharField(_("FRAC group"), max_length=4, blank=True)
    separation_class = models.CharField(
        _("kept days apart as"),
        max_length=8,
        blank=True,
        choices=[(c.value, c.value) for c in SeparationClass if c],
    )
    bee_hazard = models.CharField(
        _("hazard to bees"), max_length=8, choices=BeeHazard.choices, default=BeeHazard.LOW
    )
    moves_into_pollen = models.BooleanField(_("moves into pollen"), default=False)
    residual_days = models.PositiveSmallIntegerField(_("residual life (days)"), default=0)
    stages_controlled = CodeListField(_("stages reached"), codes=STAGES)

    class Meta:
        ordering = ["name"]
        verbose_name = _("active ingredient")
        verbose_name_plural = _("active ingredients")

    def __str__(self):
        return self.name


class Product(models.Model):
    """A product and what its label says.  An empty limit means that the label is silent."""

    class StockUnit(models.TextChoices):
        """The unit in which a product is kept: a volume or a weight, never a bare ounce."""

        FLUID_OUNCE = Unit.FLUID_OUNCE.value, _("fl oz")
        OUNCE = Unit.OUNCE.value, _("oz (weight)")

    class Kind(models.TextChoices):
        """What the product is for."""

        PESTICIDE = "pesticide", _("pesticide")
        ADJUVANT = "adjuvant", _("adjuvant")

    name = models.CharField(_("product name"), max_length=120, unique=True)
    kind = models.CharField(_("kind"), max_length=9, choices=Kind.choices, default=Kind.PESTICIDE)
    registrant = models.CharField(_("registrant"), max_length=120, blank=True)
    epa_registration_number = models.CharField(
        _("EPA registration number"),
        max_length=24,
        blank=True,
        validators=[validate_registration_number],
        help_text=_("As printed after “EPA Reg. No.”; blank for adjuvants and exempt products."),
    )
    ingredients = models.ManyToManyField(
        ActiveIngredient, through="ProductIngredient", related_name="products"
    )
    formulation_code = models.CharField(
        _("formulation"),
        max_length=2,
        choices=[
            (code, format_lazy("{} · {}", code, _(name))) for code, name in FORMULATIONS.items()
        ],
        default="SL",
        help_text=_("Two letters of the CropLife International code list."),
    )
    signal_word = models.CharField(
        _("signal word"),
        max_length=14,
        blank=True,
        choices=[(word.value, word.value) for word in SignalWord if word],
    )
    restricted_use = models.BooleanField(_("restricted use"), default=False)
    certificate_category = models.CharField(
        _("certificate category"),
        max_length=40,
        blank=True,
        default="ornamental and turf",
        help_text=_("Category of 40 CFR 171.101 that the applicator must hold."),
    )
    organic_listed = models.BooleanField(_("listed for organic use"), default=False)
    reentry_hours = models.DecimalField(
        _("re-entry interval (h)"),
        max_digits=5,
        decimal_places=1,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
    )
    reentry_until_dry = models.BooleanField(_("keep off until dry"), default=False)
    preharvest_days = models.PositiveSmallIntegerField(_("days to harvest"), null=True, blank=True)
    minimum_interval_days = models.PositiveSmallIntegerField(
        _("minimum days between applications"), null=True, blank=True
    )
    maximum_applications_per_year = models.PositiveSmallIntegerField(
        _("most applications a year"), null=True, blank=True
    )
    maximum_amount_per_application = limit_field(_("most product an application"))
    maximum_amount_per_year = limit_field(_("most product a year"))
    amount_basis = models.CharField(
        _("in"),
        max_length=16,
        choices=[(b.value, b.value) for b in Basis if not b.is_concentration],
        default=Basis.FLUID_OUNCES_PER_1000_SQ_FT.value,
        help_text=_("The unit of the two limits above."),
    )
    bloom_rule = models.CharField(
        _("flowers and bees"),
        max_length=32,
        choices=[
            (BloomRule.NONE, _("nothing said")),
            (BloomRule.NOT_WHILE_FORAGING, _("not while bees forage")),
            (BloomRule.NOT_IN_BLOOM, _("not in bloom")),
            (BloomRule.UNTIL_PETALS_FALL, _("not until all petals have fallen")),
        ],
        default=BloomRule.NONE,
    )
    bee_advisory = models.TextField(_("bee advisory as printed"), max_length=1000, blank=True)
    wind_maximum_mph = limit_field(_("most wind (mph)"))
    temperature_maximum_f = limit_field(_("highest temperature (°F)"))
    temperature_minimum_f = limit_field(_("lowest temperature (°F)"))
    rainfast_hours = limit_field(_("hours without rain after"))
    water_buffer_ft = limit_field(_("distance from water (ft)"))
    well_buffer_ft = limit_field(_("distance from wells (ft)"))
    edible_buffer_ft = limit_field(_("distance from edible plants (ft)"))
    separation_days = models.PositiveSmallIntegerField(
        _("days between oil and sulfur"),
        null=True,
        blank=True,
        help_text=_("Where the label gives its own figure."),
    )
    plants_excluded = CodeListField(
        _("plants the label forbids"), help_text=_("Common or scientific names.")
    )
    protective_equipment = CodeListField(_("protective equipment"), codes=EQUIPMENT)
    respirator_vapour = models.BooleanField(_("respirator: organic-vapor cartridge"), default=False)
    respirator_particulate = models.BooleanField(_("respirator: particulate filter"), default=False)
    respirator_filter_classes = CodeListField(
        _("filter classes allowed"), codes=[(c, c) for c in ("N", "R", "P", "HE")]
    )
    needs_agitation = models.BooleanField(_("needs agitation"), default=False)
    needs_no_spreader = models.BooleanField(_("needs no spreader-sticker"), default=False)
    mixing_rank = models.PositiveSmallIntegerField(
        _("place in the tank by its label"), null=True, blank=True
    )
    water_ph_maximum = models.DecimalField(
        _("highest water pH"), max_digits=3, decimal_places=1, null=True, blank=True
    )
    first_aid = models.TextField(_("first aid as printed"), max_length=2000, blank=True)
    label_version = models.CharField(_("label date or version"), max_length=60, blank=True)
    stock_unit = models.CharField(
        _("kept in"), max_length=5, choices=StockUnit.choices, default=StockUnit.FLUID_OUNCE
    )
    price = models.DecimalField(
        _("price a unit (USD)"),
        max_digits=8,
        decimal_places=4,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
    )
    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        ordering = ["name"]
        verbose_name = _("product")
        verbose_name_plural = _("products")
        constraints = [
            models.CheckConstraint(
                name="product_pesticide_has_formulation",
                condition=~Q(kind="pesticide", formulation_code=""),
            ),
            models.CheckConstraint(
                name="product_temperature_range_in_order",
                condition=Q(temperature_minimum_f__isnull=True)
                | Q(temperature_maximum_f__isnull=True)
                | Q(temperature_maximum_f__gt=F("temperature_minimum_f")),
                violation_error_message=_("The highest temperature is above the lowest."),
            ),
        ]

    def __str__(self):
        return self.name


class ProductIngredient(models.Model):
    """How much of an active ingredient a product holds."""

    product = models.ForeignKey(Product, models.CASCADE, related_name="contents")
    ingredient = models.ForeignKey(
        ActiveIngredient, models.PROTECT, related_name="contained_in", verbose_name=_("ingredient")
    )
    percent_by_weight = models.DecimalField(
        _("percent by weight"), max_digits=6, decimal_places=3, validators=NOT_NEGATIVE
    )
    pounds_per_gallon = models.DecimalField(
        _("pounds a gallon"),
        max_digits=6,
        decimal_places=3,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
    )
    maximum_pounds_per_acre_per_year = models.DecimalField(
        _("most pounds of it an acre in a year"),
        max_digits=7,
        decimal_places=4,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
        help_text=_("Counted over all products that hold it."),
    )

    class Meta:
        ordering = ["product", "-percent_by_weight"]
        verbose_name = _("ingredient of a product")
        verbose_name_plural = _("ingredients of products")
        constraints = [
            models.UniqueConstraint("product", "ingredient", name="ingredient_once_a_product"),
            models.CheckConstraint(
                name="ingredient_percent_to_hundred",
                condition=Q(percent_by_weight__gt=0, percent_by_weight__lte=100),
                violation_error_message=_("A content lies between 0 and 100 percent."),
            ),
        ]

    def __str__(self):
        return f"{self.ingredient} {self.percent_by_weight.normalize():f} %"


class LabelRate(models.Model):
    """A rate of the label for a group of plants and, where it names one, a pest."""

    product = models.ForeignKey(
        Product, models.CASCADE, related_name="rates", verbose_name=_("product")
    )
    plant_group = models.CharField(_("site"), max_length=24, choices=PlantGroup.choices)
    pest = models.ForeignKey(
        "treatments.Pest",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="label_rates",
        verbose_name=_("pest"),
        help_text=_("Blank when the rate holds for any pest of that site."),
    )
    minimum = amount_field(_("lowest rate"))
    maximum = amount_field(_("highest rate"))
    basis = models.CharField(_("basis"), max_length=16, choices=[(b.value, b.value) for b in Basis])
    gallons_per_1000_sq_ft = models.DecimalField(
        _("spray for 1,000 sq ft (gal)"),
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
        help_text=_("Where the label gives one; otherwise the sprayer's calibration decides."),
    )

    class Meta:
        ordering = ["product", "plant_group", "minimum"]
        verbose_name = _("label rate")
        verbose_name_plural = _("label rates")
        constraints = [
            models.CheckConstraint(
                name="label_rate_in_order",
                condition=Q(minimum__gt=0, maximum__gte=F("minimum")),
                violation_error_message=_("The highest rate is at least the lowest."),
            ),
            models.UniqueConstraint(
                "product",
                "plant_group",
                "pest",
                "basis",
                name="label_rate_once_a_site_and_pest",
                condition=Q(pest__isnull=False),
            ),
            models.UniqueConstraint(
                "product",
                "plant_group",
                "basis",
                name="label_rate_once_a_site",
                condition=Q(pest__isnull=True),
            ),
        ]

    def __str__(self):
        return f"{self.maximum.normalize():f} {self.basis}, {self.get_plant_group_display()}"
