"""What clients ask on their own page: another day for a visit."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from services.models.courses import Visit


class DayAskedQuerySet(models.QuerySet):
    """Ways to pick what clients ask."""

    def open(self):
        """Pick what nobody has answered, of visits that may still move."""
        return self.filter(answered_at__isnull=True, visit__state=Visit.State.NEEDS_ACTION)


class DayAsked(models.Model):
    """A client asks that a visit be made on another day; the office answers.

    A visit has at most one open wish: who asks again changes it.
    """

    class Answer(models.TextChoices):
        """What the office answered."""

        MOVED = "moved", _("the visit was moved")
        KEPT = "kept", _("the day stays")

    visit = models.ForeignKey(
        Visit, models.CASCADE, related_name="days_asked", verbose_name=_("visit")
    )
    was_planned = models.DateField(_("day it was planned for"))
    day = models.DateField(_("day asked for"), null=True, blank=True)
    words = models.CharField(_("in the client's words"), max_length=400, blank=True)
    asked_at = models.DateTimeField(_("asked"))
    answer = models.CharField(_("answer"), max_length=5, choices=Answer.choices, blank=True)
    reply = models.CharField(_("what the client is told"), max_length=400, blank=True)
    answered_at = models.DateTimeField(_("answered"), null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="days_answered",
        verbose_name=_("answered by"),
    )

    objects = DayAskedQuerySet.as_manager()

    class Meta:
        ordering = ["asked_at", "pk"]
        verbose_name = _("other day asked for")
        verbose_name_plural = _("other days asked for")
        constraints = [
            models.UniqueConstraint(
                "visit", name="day_asked_once_open", condition=Q(answered_at__isnull=True)
            ),
            models.CheckConstraint(
                name="day_asked_answer_has_moment",
                condition=Q(answer="", answered_at__isnull=True)
                | (~Q(answer="") & Q(answered_at__isnull=False)),
            ),
        ]

    def __str__(self):
        return f"{self.visit}: {self.day or '–'}"
