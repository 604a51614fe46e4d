"""A plan in the making: of a week, or of what is left of one when something came between."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class PlanningQuerySet(models.QuerySet):
    """Ways to pick what is still to be planned."""

    def open(self):
        """Pick what is neither done nor given up."""
        return self.filter(done_at__isnull=True, failed_at__isnull=True)

    def due_at(self, moment):
        """Pick what is to be planned now and nobody else has in hand."""
        return self.open().filter(Q(leased_until__isnull=True) | Q(leased_until__lt=moment))


class Planning(models.Model):
    """What somebody asked to have planned, how far it is, and what came of it.

    The row is the truth; a message of the broker carries only its id and may be lost.  After each
    step it holds tours that make a plan.
    """

    class Kind(models.TextChoices):
        """What is planned."""

        WEEK = "week", _("a week is dispatched")
        REPLAN = "replan", _("days are planned anew")

    class Offer(models.TextChoices):
        """How much may move when days are planned anew."""

        INSERTION = "insertion", _("nothing moves")
        LOCKED = "locked", _("promised days stay")
        FREE = "free", _("everything may move")

    kind = models.CharField(_("kind"), max_length=8, choices=Kind.choices)
    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))
    arguments = models.JSONField(_("arguments"), default=dict)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="plannings",
        verbose_name=_("asked by"),
    )
    asked_at = models.DateTimeField(_("asked"))
    step = models.PositiveSmallIntegerField(_("step"), default=0)
    steps = models.PositiveSmallIntegerField(_("steps"), default=0)
    part = models.PositiveSmallIntegerField(_("part"), default=0)
    tours = models.JSONField(_("tours"), default=dict, blank=True)
    offers = models.JSONField(_("offers"), default=list, blank=True)
    seen = models.CharField(_("what it rests on"), max_length=64, blank=True)
    without_crew = models.PositiveSmallIntegerField(_("without a crew"), default=0)
    attempts = models.PositiveSmallIntegerField(_("attempts"), default=0)
    leased_until = models.DateTimeField(_("in hand until"), null=True, blank=True)
    stopped_at = models.DateTimeField(_("stopped"), null=True, blank=True)
    done_at = models.DateTimeField(_("done"), null=True, blank=True)
    failed_at = models.DateTimeField(_("failed"), null=True, blank=True)
    last_error = models.TextField(_("last error"), blank=True)
    chosen = models.CharField(_("chosen"), max_length=9, choices=Offer.choices, blank=True)
    chosen_at = models.DateTimeField(_("chosen at"), null=True, blank=True)

    objects = PlanningQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        verbose_name = _("planning")
        verbose_name_plural = _("plannings")
        constraints = [
            models.CheckConstraint(
                name="planning_done_or_failed_not_both",
                condition=Q(done_at__isnull=True) | Q(failed_at__isnull=True),
            ),
            models.CheckConstraint(
                name="planning_days_in_order",
                condition=Q(first_day__lte=models.F("last_day")),
                violation_error_message=_("The first day comes before the last."),
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()}, {self.first_day} – {self.last_day}"

    def is_open(self) -> bool:
        """Say whether it is still being planned."""
        return self.done_at is None and self.failed_at is None

    def is_to_be_chosen(self) -> bool:
        """Say whether its offers wait for somebody to choose."""
        return self.kind == self.Kind.REPLAN and self.done_at is not None and not self.chosen
