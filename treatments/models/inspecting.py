"""What an inspector may look at and until when, and every look that was taken."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly

USUAL_DAYS = 14  # how long a grant holds unless the owner says otherwise; our own choice


class InspectorGrantQuerySet(models.QuerySet):
    """Ways to pick grants that read as the trade says them."""

    def open_at(self, moment):
        """Pick the grants that hold at a moment."""
        return self.filter(starts_at__lte=moment, ends_at__gt=moment, ended_at__isnull=True)


class InspectorGrant(models.Model):
    """One named inspector may read the records of some places, of one client, of some days."""

    inspector = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="grants",
        verbose_name=_("inspector"),
    )
    purpose = models.CharField(
        _("for whom and why"), max_length=200, help_text=_("Agency, and what is looked into.")
    )
    jurisdictions = models.JSONField(_("jurisdictions"), default=list, blank=True)
    client = models.ForeignKey(
        "clients.Client",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="grants",
        verbose_name=_("client"),
    )
    first_day = models.DateField(_("applications from"), null=True, blank=True)
    last_day = models.DateField(_("applications until"), null=True, blank=True)
    starts_at = models.DateTimeField(_("holds from"))
    ends_at = models.DateTimeField(_("holds until"))
    granted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="grants_made",
        verbose_name=_("granted by"),
    )
    ended_at = models.DateTimeField(_("taken back"), null=True, blank=True)

    objects = InspectorGrantQuerySet.as_manager()

    class Meta:
        ordering = ["-starts_at", "-pk"]
        verbose_name = _("grant to an inspector")
        verbose_name_plural = _("grants to inspectors")
        constraints = [
            models.CheckConstraint(
                name="grant_ends_after_it_starts",
                condition=Q(ends_at__gt=F("starts_at")),
                violation_error_message=_("A grant ends after it starts."),
            ),
            models.CheckConstraint(
                name="grant_days_in_order",
                condition=Q(first_day__isnull=True)
                | Q(last_day__isnull=True)
                | Q(last_day__gte=F("first_day")),
                violation_error_message=_("The last day is not before the first."),
            ),
            models.CheckConstraint(
                name="grant_for_places_or_a_client",
                condition=~Q(jurisdictions=[], client__isnull=True),
                violation_error_message=_("Choose jurisdictions or a client."),
            ),
        ]

    def __str__(self):
        return f"{self.inspector}, {self.ends_at:%Y-%m-%d}"

    def is_open_at(self, moment: datetime) -> bool:
        """Say whether the grant holds at a moment."""
        return self.ended_at is None and self.starts_at <= moment < self.ends_at

    def scope(self, zones: Iterable[str]) -> Q:
        """Return which application records the grant opens, its days by each place's own clocks.

        zones: those that records copied
        """
        scope = Q()
        if self.jurisdictions:
            scope &= Q(jurisdiction__in=self.jurisdictions)
        if self.client_id:
            scope &= Q(planting__property__client=self.client_id)
        return scope & _within(self.first_day, self.last_day, zones)


def _within(first: date | None, last: date | None, zones: Iterable[str]) -> Q:
    """Return the days by the zone that each record copied, of which the book knows a few."""
    if first is None and last is None:
        return Q()
    within = Q(pk__in=[])
    for zone in zones:
        place = ZoneInfo(zone) if zone else UTC
        days = Q(time_zone=zone)
        if first:
            days &= Q(done_at__gte=datetime.combine(first, time(), place))
        if last:
            days &= Q(done_at__lt=datetime.combine(last + timedelta(days=1), time(), place))
        within |= days
    return within


def opened_to(inspector, moment: datetime, zones: Iterable[str]) -> Q:
    """Return which records the open grants of an inspector open together; none without one.

    zones: those that records copied
    """
    opened = Q(pk__in=[])
    for grant in InspectorGrant.objects.open_at(moment).filter(inspector=inspector):
        opened |= grant.scope(zones)
    return opened


class InspectorLook(AppendOnly):
    """What an inspector looked at and when; the owner sees each."""

    inspector = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="looks",
        verbose_name=_("inspector"),
    )
    address = models.CharField(_("address of the page"), max_length=400)
    at = models.DateTimeField(_("when"))

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name = _("look of an inspector")
        verbose_name_plural = _("looks of inspectors")

    def __str__(self):
        return f"{self.at:%Y-%m-%d %H:%M}: {self.address}"
