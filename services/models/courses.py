"""Courses put on plantings, their visits week by week, and what holds a visit."""

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, Role, has_role, role_of
from clients.loaded import all_of
from services.models.crews import days_of_technician
from services.models.dispatches import Dispatch

OPEN_STATES = ["NEEDS-ACTION", "IN-PROCESS"]  # of a to-do in iCalendar


class Course(models.Model):
    """One rotation put on the plantings of one property from a first day."""

    class Outcome(models.TextChoices):
        """How a course came out, once it is over."""

        OPEN = "", _("under way")
        WORKED = "worked", _("worked")
        FAILED = "failed", _("did not work")
        STOPPED = "stopped", _("stopped")

    property = models.ForeignKey(
        "clients.Property", models.PROTECT, related_name="courses", verbose_name=_("property")
    )
    rotation = models.ForeignKey(
        "treatments.Rotation", models.PROTECT, related_name="courses", verbose_name=_("rotation")
    )
    plantings = models.ManyToManyField(
        "clients.Planting", related_name="courses", verbose_name=_("plantings")
    )
    first_day = models.DateField(_("first day"))
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="courses_started",
        verbose_name=_("started by"),
    )
    started_at = models.DateTimeField(_("put on"), default=timezone.now, editable=False)
    ended_at = models.DateTimeField(_("ended"), null=True, blank=True)
    outcome = models.CharField(
        _("outcome"), max_length=8, choices=Outcome.choices, default=Outcome.OPEN, blank=True
    )
    outcome_note = models.TextField(_("how it came out"), max_length=1000, blank=True)

    class Meta:
        ordering = ["-first_day", "pk"]
        verbose_name = _("course")
        verbose_name_plural = _("courses")
        constraints = [
            models.UniqueConstraint(
                "property", "rotation", "first_day", name="course_once_a_property_and_first_day"
            ),
            models.CheckConstraint(
                name="course_outcome_when_ended",
                condition=Q(outcome="", ended_at__isnull=True)
                | (~Q(outcome="") & Q(ended_at__isnull=False)),
            ),
        ]

    def __str__(self):
        return f"{self.rotation}, {self.property}"


class VisitQuerySet(models.QuerySet):
    """Ways to pick visits that read as the trade says them."""

    def for_user(self, user):
        """Pick the visits a person may see.

        A technician sees those that his crew is sent to today and tomorrow, and those of earlier
        days that nobody has reported yet.
        """
        if role_of(user) is not Role.TECHNICIAN:
            return self.reported_by(user)
        today, tomorrow = days_of_technician(user)
        is_owed = Q(dispatch__day__lt=today, state__in=OPEN_STATES)
        theirs = self.reported_by(user)
        return theirs.filter(Q(dispatch__day__range=(today, tomorrow)) | is_owed)

    def reported_by(self, user):
        """Pick the visits that a person may report: also a day late, or once more."""
        if has_role(user, STAFF):
            return self
        if role_of(user) is Role.TECHNICIAN:
            return self.filter(dispatch__crew__technicians__user=user)
        return self.none()

    def open(self):
        """Pick the visits that are neither completed nor cancelled."""
        return self.filter(state__in=OPEN_STATES)

    def planned_in(self, first_day, last_day):
        """Pick the visits planned between two dates, whatever became of them."""
        return self.filter(planned__range=(first_day, last_day))

    def held(self):
        """Pick the visits with a hold that nobody has lifted."""
        return self.filter(pk__in=Hold.objects.filter(lifted_at__isnull=True).values("visit"))

    def with_all_that_is_shown(self):
        """Load what the lists of visits show, in a fixed number of queries."""
        return self.select_related(
            "course__property__client",
            "course__rotation__pest",
            "rotation_week__product",
            "rotation_week__adjuvant",
            "dispatch__crew",
        ).prefetch_related("course__plantings", "course__rotation__weeks", "holds")


class NotOnRoute(ValueError):
    """The visit has no crew, so that nothing can be said of its route."""


class NotMade(ValueError):
    """The visit was not made yet, so that it has no end."""


class Visit(models.Model):
    """One week of a course: a stop of a crew at a property."""

    class State(models.TextChoices):
        """The states of a to-do [RFC5545 3.8.1.11]."""

        NEEDS_ACTION = "NEEDS-ACTION", _("to do")
        IN_PROCESS = "IN-PROCESS", _("under way")
        COMPLETED = "COMPLETED", _("done")
        CANCELLED = "CANCELLED", _("cancelled")

    course = models.ForeignKey(
        Course, models.PROTECT, related_name="visits", verbose_name=_("course")
    )
    rotation_week = models.ForeignKey(
        "treatments.RotationWeek",
        models.PROTECT,
        related_name="visits",
        verbose_name=_("week of the rotation"),
    )
    earliest = models.DateField(_("earliest day"))
    planned = models.DateField(_("planned day"))
    latest = models.DateField(_("latest day"))
    state = models.CharField(
        _("state"), max_length=12, choices=State.choices, default=State.NEEDS_ACTION
    )
    dispatch = models.ForeignKey(
        "services.Dispatch",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="visits",
        verbose_name=_("dispatch"),
    )
    position = models.PositiveSmallIntegerField(_("place in the route"), null=True, blank=True)
    arrives_at = models.DateTimeField(_("arrives"), null=True, blank=True)
    leaves_at = models.DateTimeField(_("leaves"), null=True, blank=True)
    left_out = models.JSONField(
        _("why it has no crew"), default=dict, blank=True, help_text=_("Code, sentence and facts.")
    )
    started_at = models.DateTimeField(_("started"), null=True, blank=True)
    completed_at = models.DateTimeField(_("completed"), null=True, blank=True)
    note = models.TextField(_("note"), max_length=4000, blank=True)
    records = models.ManyToManyField(
        "treatments.ApplicationRecord", related_name="visits", blank=True
    )
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = VisitQuerySet.as_manager()

    class Meta:
        ordering = ["planned", "position", "pk"]
        verbose_name = _("visit")
        verbose_name_plural = _("visits")
        indexes = [
            models.Index(fields=["state", "planned"], name="visit_state_planned"),
            models.Index(fields=["earliest", "latest"], name="visit_days"),
            models.Index(fields=["planned", "position", "id"], name="visit_in_order"),
        ]
        constraints = [
            models.UniqueConstraint("course", "rotation_week", name="visit_once_a_week"),
            models.CheckConstraint(
                name="visit_days_in_order",
                condition=Q(earliest__lte=F("planned"), planned__lte=F("latest")),
                violation_error_message=_("Earliest, planned and latest day follow one another."),
            ),
            models.CheckConstraint(
                name="visit_completed_has_its_time",
                condition=Q(state="COMPLETED", completed_at__isnull=False)
                | (~Q(state="COMPLETED") & Q(completed_at__isnull=True)),
            ),
        ]

    def __str__(self):
        week = _("week")
        return f"{self.course}, {week} {self.week}"

    @property
    def week(self) -> int:
        """The week of the rotation, from 1."""
        return self.rotation_week.week

    def route(self) -> Dispatch:
        """Return the day of the crew that has the visit; raise NotOnRoute where none has it."""
        if self.dispatch is None:
            raise NotOnRoute("The visit has no crew.")
        return self.dispatch

    def hours_on_route(self) -> tuple[datetime, datetime]:
        """Return when its crew comes and goes; raise NotOnRoute where none has it."""
        if self.arrives_at is None or self.leaves_at is None:
            raise NotOnRoute("The visit has no crew.")
        return self.arrives_at, self.leaves_at

    def made_at(self) -> datetime:
        """Return when the visit was completed; raise NotMade while it is open."""
        if self.completed_at is None:
            raise NotMade("The visit was not made yet.")
        return self.completed_at

    def open_hold(self):
        """Return the hold that nobody has lifted, or None; reads what was prefetched."""
        return next((hold for hold in all_of(self, "holds") if hold.lifted_at is None), None)

    def is_open(self) -> bool:
        """Say whether the visit is still to be made."""
        return self.state in (self.State.NEEDS_ACTION, self.State.IN_PROCESS)

    def is_late_on(self, day) -> bool:
        """Say whether the latest day has passed and the visit was not made."""
        return self.is_open() and self.latest < day


class Hold(models.Model):
    """A visit put off, with the reason; kept as evidence after it is lifted."""

    class Reason(models.TextChoices):
        """Why a visit is put off."""

        WIND = "wind", _("wind")
        RAIN = "rain", _("rain")
        HEAT = "heat", _("heat")
        COLD = "cold", _("cold")
        BLOOM = "bloom", _("bloom")
        ACCESS = "access", _("no access")
        STOCK = "stock", _("no stock")
        OTHER = "other", _("another reason")

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="holds", verbose_name=_("visit"))
    reason = models.CharField(_("reason"), max_length=6, choices=Reason.choices)
    note = models.CharField(_("note"), max_length=400, blank=True)
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="holds_set",
        verbose_name=_("set by"),
    )
    set_at = models.DateTimeField(_("set"))
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="holds_lifted",
        verbose_name=_("lifted by"),
    )
    lifted_at = models.DateTimeField(_("lifted"), null=True, blank=True)

    class Meta:
        ordering = ["visit", "set_at"]
        verbose_name = _("hold")
        verbose_name_plural = _("holds")
        constraints = [
            models.UniqueConstraint(
                "visit",
                name="hold_one_open_a_visit",
                condition=Q(lifted_at__isnull=True),
                violation_error_message=_("The visit is held already."),
            ),
            models.CheckConstraint(
                name="hold_for_another_reason_says_which",
                condition=~Q(reason="other", note=""),
                violation_error_message=_("Say which other reason it is."),
            ),
        ]

    def __str__(self):
        return f"{self.get_reason_display()}: {self.visit}"
