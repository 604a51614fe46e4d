"""Estimates: a course proposed to a client with its price, and what the client answered."""

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from clients.access import OFFICE, has_role
from services.models.statements import KINDS, money_field
from treatments.models.append_only import AppendOnly


class EstimateQuerySet(models.QuerySet):
    """Ways to pick estimates that read as the office says them."""

    def for_user(self, user):
        """Pick the estimates that a person may see: the office all, anybody else none."""
        return self if has_role(user, OFFICE) else self.none()

    def of_client(self, client):
        """Pick the estimates of a client that were not taken back."""
        return self.filter(property__client=client, withdrawn_at__isnull=True)


class Estimate(models.Model):
    """A rotation proposed on plantings of one property, week by week with its price.

    What it says is frozen with its paper when it is written; only what becomes of it is added.
    found: sentences on what was counted; taxes: as on a statement
    """

    class State(models.TextChoices):
        """What has become of it."""

        OPEN = "open", _("open")
        EXPIRED = "expired", _("expired")
        WITHDRAWN = "withdrawn", _("withdrawn")
        ACCEPTED = "accepted", pgettext_lazy("estimate", "accepted")
        DECLINED = "declined", pgettext_lazy("estimate", "declined")

    number = models.PositiveIntegerField(_("number"), unique=True, editable=False)
    property = models.ForeignKey(
        "clients.Property", models.PROTECT, related_name="estimates", verbose_name=_("property")
    )
    plantings = models.ManyToManyField(
        "clients.Planting", related_name="estimates", verbose_name=_("plantings")
    )
    rotation = models.ForeignKey(
        "treatments.Rotation", models.PROTECT, related_name="estimates", verbose_name=_("rotation")
    )
    first_day = models.DateField(_("first day"))
    valid_until = models.DateField(_("valid until"))
    language = models.CharField(_("language"), max_length=2)
    found = models.JSONField(_("what was found"), default=list, blank=True)
    note = models.TextField(_("words to the client"), max_length=1000, blank=True)
    taxes = models.JSONField(_("tax"), default=list, blank=True)
    weeks_total = money_field(_("sum of weeks (USD)"))
    total = money_field(_("total (USD)"))
    written_at = models.DateTimeField(_("written"), default=timezone.now, editable=False)
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        editable=False,
        related_name="estimates",
        verbose_name=_("written by"),
    )
    form_id = models.UUIDField(_("form"), unique=True, editable=False)
    paper = models.BinaryField(_("PDF"))
    sha256 = models.CharField(_("SHA-256"), max_length=64)
    withdrawn_at = models.DateTimeField(_("withdrawn"), null=True, blank=True)
    course = models.ForeignKey(
        "services.Course",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="estimates",
        verbose_name=_("course"),
    )
    stopped_by = models.JSONField(
        _("what stands against it"), default=list, blank=True, help_text=_("Sentences.")
    )

    objects = EstimateQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]
        verbose_name = _("estimate")
        verbose_name_plural = _("estimates")

    def __str__(self):
        return str(self.number)

    def state_on(self, today: date) -> State:
        """Return what has become of it; an answer counts, whatever day it is."""
        answer = getattr(self, "answer", None)
        if answer is not None:
            return self.State(answer.answer)
        if self.withdrawn_at is not None:
            return self.State.WITHDRAWN
        return self.State.EXPIRED if today > self.valid_until else self.State.OPEN


class EstimateWeek(models.Model):
    """A week of an estimate: what is proposed for it, and its price."""

    estimate = models.ForeignKey(
        Estimate, models.CASCADE, related_name="weeks", verbose_name=_("estimate")
    )
    week = models.PositiveSmallIntegerField(_("week"))
    day = models.DateField(_("planned day"))
    words = models.CharField(_("what"), max_length=500)
    priced = models.CharField(_("by which price"), max_length=300, blank=True)
    kind = models.CharField(_("of"), max_length=7, choices=KINDS)
    amount = money_field(_("amount (USD)"))

    class Meta:
        ordering = ["estimate", "week"]
        verbose_name = _("week of an estimate")
        verbose_name_plural = _("weeks of estimates")
        constraints = [
            models.UniqueConstraint("estimate", "week", name="estimate_week_once"),
            models.CheckConstraint(
                name="estimate_week_amount_not_negative", condition=Q(amount__gte=0)
            ),
        ]

    def __str__(self):
        return f"{self.estimate}, {self.week}"


class EstimateAnswer(AppendOnly):
    """What a client answered: once, when, through which link, to which paper."""

    class Answer(models.TextChoices):
        """What was answered."""

        ACCEPTED = Estimate.State.ACCEPTED.value, pgettext_lazy("estimate", "accepted")
        DECLINED = Estimate.State.DECLINED.value, pgettext_lazy("estimate", "declined")

    estimate = models.OneToOneField(
        Estimate, models.PROTECT, related_name="answer", verbose_name=_("estimate")
    )
    answer = models.CharField(_("answer"), max_length=8, choices=Answer.choices)
    at = models.DateTimeField(_("when"))
    link = models.ForeignKey(
        "services.ClientLink",
        models.PROTECT,
        related_name="answers",
        verbose_name=_("through the link"),
    )
    paper_sha256 = models.CharField(_("SHA-256 of the paper"), max_length=64)
    words = models.CharField(_("in words"), max_length=400, blank=True)

    class Meta:
        verbose_name = _("answer to an estimate")
        verbose_name_plural = _("answers to estimates")

    def __str__(self):
        return f"{self.estimate}: {self.get_answer_display()}"
