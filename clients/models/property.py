"""Property: a place, when one may enter it, and who lives beside it."""

from decimal import Decimal
from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, has_role, reachable_properties
from clients.lying import town_line


def validate_time_zone(name):
    """Accept only names of the IANA time zone database."""
    if name not in available_timezones():
        raise ValidationError(
            _("%(name)s is not a time zone of the IANA list, such as America/New_York."),
            params={"name": name},
            code="unknown_zone",
        )


class PropertyQuerySet(models.QuerySet):
    """Ways to pick properties that read as the trade says them."""

    def for_user(self, user):
        """Pick the properties a person may see: a technician only today's and tomorrow's."""
        if has_role(user, STAFF):
            return self
        return self.filter(pk__in=reachable_properties(user))


STATE_CODE = RegexValidator(
    r"^[A-Z]{2}-[A-Z0-9]{1,3}\Z", _("Write the state by its name or code, as US-PA.")
)


class Property(models.Model):
    """A place with an address, its time zone and law, and what must be minded there."""

    client = models.ForeignKey(
        "clients.Client", models.PROTECT, related_name="properties", verbose_name=_("client")
    )
    name = models.CharField(_("name"), max_length=200)
    street = models.CharField(_("street"), max_length=200)
    city = models.CharField(_("town"), max_length=100)
    county = models.CharField(_("county"), max_length=100, blank=True)
    postal_code = models.CharField(_("ZIP code"), max_length=10)
    jurisdiction = models.CharField(
        _("jurisdiction"),
        max_length=6,
        validators=[STATE_CODE],
        help_text=_("State by its ISO 3166-2 code, such as US-PA: its rules bind the record."),
    )
    latitude = models.DecimalField(
        _("latitude"),
        max_digits=8,
        decimal_places=6,
        null=True,
        validators=[MinValueValidator(Decimal(-90)), MaxValueValidator(Decimal(90))],
        help_text=_("Degrees north, WGS 84, as a map tells them when its place is pressed long."),
    )
    longitude = models.DecimalField(
        _("longitude"),
        max_digits=9,
        decimal_places=6,
        null=True,
        validators=[MinValueValidator(Decimal(-180)), MaxValueValidator(Decimal(180))],
        help_text=_("Degrees east, WGS 84; negative in the Americas."),
    )
    time_zone = models.CharField(
        _("time zone"), max_length=64, default="America/New_York", validators=[validate_time_zone]
    )
    production_site = models.BooleanField(
        _("production site"),
        default=False,
        help_text=_("Nursery, greenhouse or farm: the Worker Protection Standard applies."),
    )
    bees = models.BooleanField(_("bee hives"), default=False)
    open_water = models.BooleanField(_("pond or stream"), default=False)
    water_distance_ft = models.PositiveIntegerField(
        _("distance to water"),
        null=True,
        blank=True,
        help_text=_("Feet from the nearest planting."),
    )
    well = models.BooleanField(_("well"), default=False)
    well_distance_ft = models.PositiveIntegerField(
        _("distance to the well"), null=True, blank=True, help_text=_("Feet.")
    )
    kitchen_garden = models.BooleanField(_("kitchen garden"), default=False)
    garden_distance_ft = models.PositiveIntegerField(
        _("distance to the kitchen garden"), null=True, blank=True, help_text=_("Feet.")
    )
    children = models.BooleanField(_("children"), default=False)
    pets = models.BooleanField(_("pets"), default=False)
    minded_note = models.TextField(_("what else must be minded"), max_length=1000, blank=True)
    access_note = models.TextField(_("way in"), max_length=1000, blank=True)
    gate_code = models.CharField(
        _("gate code"), max_length=60, blank=True, help_text=_("Shown to the crew on the day only.")
    )
    nearest_hospital = models.CharField(_("nearest hospital"), max_length=200, blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = PropertyQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        verbose_name = _("property")
        verbose_name_plural = _("properties")
        indexes = [
            models.Index(fields=["name", "id"], name="property_name"),
            models.Index(fields=["city", "id"], name="property_city"),
        ]
        constraints = [
            models.UniqueConstraint("client", "name", name="property_name_once_a_client"),
            models.CheckConstraint(
                name="property_coordinates_on_earth",
                condition=Q(latitude__range=(-90, 90), longitude__range=(-180, 180)),
                violation_error_message=_("Latitude and longitude lie on the earth."),
            ),
            models.CheckConstraint(
                name="property_has_both_coordinates_or_none",
                condition=Q(latitude__isnull=True, longitude__isnull=True)
                | Q(latitude__isnull=False, longitude__isnull=False),
                violation_error_message=_("Give both latitude and longitude, or neither."),
            ),
        ]

    def __str__(self):
        return self.name

    def address(self):
        """Return the address on one line."""
        return f"{self.street}, {town_line(self.city, self.jurisdiction[3:], self.postal_code)}"

    def is_located(self) -> bool:
        """Say whether it is known where the property lies; one from a file may lack it."""
        return self.latitude is not None and self.longitude is not None

    def lies_at(self) -> tuple[float, float]:
        """Return latitude and longitude in degrees; raise ValidationError where not known."""
        if self.latitude is None or self.longitude is None:
            raise ValidationError(
                _("Where %(place)s lies is not known: enter its latitude and longitude first."),
                params={"place": self.name},
                code="not_located",
            )
        return float(self.latitude), float(self.longitude)

    def zone(self):
        """Return the time zone, which decides every local date of the property."""
        return ZoneInfo(self.time_zone)

    def minded(self):
        """Return, in words, what must be minded here."""
        kinds = [
            (self.bees, _("bee hives")),
            (self.open_water, _("pond or stream")),
            (self.well, _("well")),
            (self.kitchen_garden, _("kitchen garden")),
            (self.children, _("children")),
            (self.pets, _("pets")),
        ]
        return [str(word) for is_there, word in kinds if is_there]


class AccessWindow(models.Model):
    """Hours of a weekday in which the client lets a crew in; none at all means any time."""

    class Weekday(models.IntegerChoices):
        """Monday first, as ISO 8601 counts, from zero."""

        MONDAY = 0, _("Monday")
        TUESDAY = 1, _("Tuesday")
        WEDNESDAY = 2, _("Wednesday")
        THURSDAY = 3, _("Thursday")
        FRIDAY = 4, _("Friday")
        SATURDAY = 5, _("Saturday")
        SUNDAY = 6, _("Sunday")

    property = models.ForeignKey(
        Property, models.CASCADE, related_name="access_windows", verbose_name=_("property")
    )
    weekday = models.PositiveSmallIntegerField(_("weekday"), choices=Weekday.choices)
    opens = models.TimeField(_("from"))
    closes = models.TimeField(_("until"))

    class Meta:
        ordering = ["property", "weekday", "opens"]
        verbose_name = _("access window")
        verbose_name_plural = _("access windows")
        constraints = [
            models.UniqueConstraint(
                "property", "weekday", "opens", name="access_window_once_a_weekday_and_hour"
            ),
            models.CheckConstraint(
                name="access_window_closes_after_it_opens",
                condition=Q(closes__gt=F("opens")),
                violation_error_message=_("An access window closes after it opens."),
            ),
            models.CheckConstraint(
                name="access_window_on_a_weekday", condition=Q(weekday__range=(0, 6))
            ),
        ]

    def __str__(self):
        return f"{self.get_weekday_display()} {self.opens:%H:%M}-{self.closes:%H:%M}"


class Neighbour(models.Model):
    """Someone who must or wants to be told before a treatment near them."""

    class Ground(models.TextChoices):
        """Why they are told."""

        ASKED = "asked", _("asked to be told")
        REGISTRY = "registry", _("on the hypersensitivity registry")
        ABUTTING = "abutting", _("abutting, where the rules ask")

    property = models.ForeignKey(
        Property, models.CASCADE, related_name="neighbours", verbose_name=_("property")
    )
    name = models.CharField(_("name"), max_length=200)
    address = models.CharField(_("address"), max_length=300, blank=True)
    email = models.EmailField(_("email"), blank=True)
    phone = models.CharField(_("telephone"), max_length=40, blank=True)
    ground = models.CharField(_("why"), max_length=10, choices=Ground.choices, default=Ground.ASKED)
    distance_ft = models.PositiveIntegerField(
        _("distance"), null=True, blank=True, help_text=_("Feet from the property line.")
    )
    asked_on = models.DateField(
        _("asked in writing on"),
        null=True,
        blank=True,
        help_text=_("Some rules bind only where somebody asked days ahead; empty means not known."),
    )

    class Meta:
        ordering = ["property", "name"]
        verbose_name = _("neighbor")
        verbose_name_plural = _("neighbors")
        constraints = [
            models.CheckConstraint(
                name="neighbour_can_be_reached",
                condition=~Q(address="", email="", phone=""),
                violation_error_message=_("Give an address, an email or a telephone number."),
            ),
        ]

    def __str__(self):
        return self.name
