"""The yard, the crews that set out from it, their people and trucks."""

from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from typing import ClassVar
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models, transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from clients.access import Role, role_of
from clients.models import AccessWindow
from clients.models.property import validate_time_zone
from treatments.models import Locker
from treatments.models.fields import CodeListField

ONE_DAY = timedelta(days=1)
WEEKDAYS = [(str(day), name) for day, name in AccessWindow.Weekday.choices]


def monday_to_saturday() -> list[str]:
    """Return the weekdays a crew works unless it is told otherwise."""
    return ["0", "1", "2", "3", "4", "5"]


class Yard(models.Model):
    """Where crews, trucks and the store are."""

    name = models.CharField(_("name"), max_length=100, unique=True)
    address = models.CharField(_("address"), max_length=300)
    latitude = models.DecimalField(
        _("latitude"),
        max_digits=8,
        decimal_places=6,
        validators=[MinValueValidator(Decimal(-90)), MaxValueValidator(Decimal(90))],
    )
    longitude = models.DecimalField(
        _("longitude"),
        max_digits=9,
        decimal_places=6,
        validators=[MinValueValidator(Decimal(-180)), MaxValueValidator(Decimal(180))],
    )
    time_zone = models.CharField(
        _("time zone"), max_length=64, default="America/New_York", validators=[validate_time_zone]
    )
    supervisor_phone = models.CharField(_("supervisor's telephone"), max_length=40, blank=True)

    class Meta:
        ordering = ["name"]
        verbose_name = _("yard")
        verbose_name_plural = _("yards")
        constraints = [
            models.CheckConstraint(
                name="yard_coordinates_on_earth",
                condition=Q(latitude__range=(-90, 90), longitude__range=(-180, 180)),
            ),
        ]

    def __str__(self):
        return self.name

    def zone(self) -> ZoneInfo:
        """Return the time zone of the yard, which decides its own screens."""
        return ZoneInfo(self.time_zone)


class Crew(models.Model):
    """People who work together from one yard, with the hours of their shift."""

    yard = models.ForeignKey(Yard, models.PROTECT, related_name="crews", verbose_name=_("yard"))
    name = models.CharField(_("name"), max_length=100, unique=True)
    shift_starts = models.TimeField(_("shift starts"))
    shift_ends = models.TimeField(_("shift ends"))
    lunch_minutes = models.PositiveSmallIntegerField(
        _("lunch (min)"), default=30, validators=[MaxValueValidator(120)]
    )
    weekdays = CodeListField(_("works on"), codes=WEEKDAYS, default=monday_to_saturday)
    retired = models.BooleanField(_("no longer works"), default=False)

    class Meta:
        ordering = ["name"]
        verbose_name = _("crew")
        verbose_name_plural = _("crews")
        constraints = [
            models.CheckConstraint(
                name="crew_shift_ends_after_it_starts",
                condition=Q(shift_ends__gt=F("shift_starts")),
                violation_error_message=_("A shift ends after it starts, on the same day."),
            ),
        ]

    def __str__(self):
        return self.name

    def language(self) -> str:
        """Return the language that most of its people read, or that of the page."""
        languages = Counter(person.language for person in self.technicians.all())
        most = languages.most_common(1)
        return most[0][0] if most else get_language() or settings.LANGUAGE_CODE

    def works_on(self, day) -> bool:
        """Say whether the crew works on a date."""
        return not self.retired and str(day.weekday()) in self.weekdays


class Technician(models.Model):
    """What the business knows of a person who signs in: the crew, the language, the shift."""

    LANGUAGES: ClassVar = [("en", "English"), ("es", "Español")]

    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="technician")
    crew = models.ForeignKey(
        Crew,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="technicians",
        verbose_name=_("crew"),
    )
    language = models.CharField(_("language"), max_length=2, choices=LANGUAGES, default="en")
    shift_starts = models.TimeField(
        _("shift starts"), null=True, blank=True, help_text=_("When it differs from the crew's.")
    )
    shift_ends = models.TimeField(_("shift ends"), null=True, blank=True)
    phone = models.CharField(_("telephone"), max_length=40, blank=True)

    class Meta:
        ordering = ["user__last_name", "user__first_name", "pk"]
        verbose_name = _("person")
        verbose_name_plural = _("people")
        constraints = [
            models.CheckConstraint(
                name="technician_shift_has_both_ends_or_none",
                condition=Q(shift_starts__isnull=True, shift_ends__isnull=True)
                | Q(
                    shift_starts__isnull=False,
                    shift_ends__isnull=False,
                    shift_ends__gt=F("shift_starts"),
                ),
                violation_error_message=_("Give both ends of the shift, or neither."),
            ),
        ]

    def __str__(self):
        return self.user.get_full_name() or self.user.get_username()

    def role(self) -> Role | None:
        """Return the person's role, which is kept as the group of the sign-in."""
        return role_of(self.user)


class Truck(models.Model):
    """A truck of a crew, with the sprayers on it."""

    name = models.CharField(_("name"), max_length=100, unique=True)
    crew = models.OneToOneField(
        Crew,
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="truck",
        verbose_name=_("crew"),
    )
    sprayers = models.ManyToManyField(
        "treatments.Sprayer", related_name="trucks", blank=True, verbose_name=_("sprayers")
    )
    water_gallons = models.DecimalField(
        _("water carried (gal)"),
        max_digits=6,
        decimal_places=1,
        validators=[MinValueValidator(Decimal(1))],
    )
    locker = models.OneToOneField(
        "treatments.Locker",
        models.PROTECT,
        blank=True,
        editable=False,
        related_name="truck",
        verbose_name=_("locker"),
    )

    class Meta:
        ordering = ["name"]
        verbose_name = _("truck")
        verbose_name_plural = _("trucks")
        constraints = [
            models.CheckConstraint(name="truck_carries_water", condition=Q(water_gallons__gt=0)),
        ]

    def __str__(self):
        return self.name

    @transaction.atomic
    def save(self, *args, **kwargs):
        """Save the truck; its locker comes with it and goes by its name."""
        if not self.locker_id:
            self.locker = Locker.objects.create(name=self.name)
        else:
            Locker.objects.filter(pk=self.locker_id).exclude(name=self.name).update(name=self.name)
        super().save(*args, **kwargs)


def day_of_crew(user) -> date | None:
    """Return which day it is at the yard of a person's crew, or None without a crew."""
    technician = getattr(user, "technician", None)
    if technician is None or technician.crew is None:
        return None
    return timezone.now().astimezone(technician.crew.yard.zone()).date()


def days_of_technician(user) -> tuple[date, date]:
    """Return the days that a technician is shown: today and tomorrow by the clock of the yard."""
    today = day_of_crew(user) or timezone.localdate()
    return today, today + ONE_DAY
