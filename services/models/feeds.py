"""The calendar of a crew that other programs follow, and what each of them was told."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _


class CrewFeed(models.Model):
    """An address at which a calendar program reads a crew's visits; only its digest is kept."""

    crew = models.ForeignKey(
        "services.Crew", models.CASCADE, related_name="feeds", verbose_name=_("crew")
    )
    digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(_("made"))
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="crew_feeds",
        verbose_name=_("made by"),
    )
    read_at = models.DateTimeField(_("last read"), null=True, blank=True)
    revoked_at = models.DateTimeField(_("revoked"), null=True, blank=True)

    class Meta:
        ordering = ["crew", "-made_at"]
        verbose_name = _("calendar of a crew")
        verbose_name_plural = _("calendars of crews")

    def __str__(self):
        return f"{self.crew}, {self.made_at:%Y-%m-%d}"


class FeedEntry(models.Model):
    """A visit as a feed tells it: what changed since is told with a higher number [RFC 5545]."""

    feed = models.ForeignKey(
        CrewFeed, models.CASCADE, related_name="entries", verbose_name=_("calendar")
    )
    visit = models.ForeignKey(
        "services.Visit", models.CASCADE, related_name="feed_entries", verbose_name=_("visit")
    )
    starts_at = models.DateTimeField(_("begins"))
    ends_at = models.DateTimeField(_("ends"))
    state = models.CharField(_("state"), max_length=12)
    sequence = models.PositiveIntegerField(_("changes told"), default=0)
    changed_at = models.DateTimeField(_("changed"))

    class Meta:
        ordering = ["starts_at", "visit"]
        verbose_name = _("entry of a calendar")
        verbose_name_plural = _("entries of calendars")
        constraints = [
            models.UniqueConstraint("feed", "visit", name="feed_entry_once_a_visit"),
            models.CheckConstraint(
                name="feed_entry_ends_after_it_begins", condition=Q(ends_at__gte=F("starts_at"))
            ),
        ]

    def __str__(self):
        return f"{self.visit}, {self.sequence}"
