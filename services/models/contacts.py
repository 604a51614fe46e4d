"""Attempts to tell somebody of a visit before it is made, kept as evidence."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from services.models.courses import Visit
from treatments.models.append_only import AppendOnly


class ContactAttempt(AppendOnly):
    """Who tried to tell whom of a visit on which day, when, how, and what came of it.

    The person is named, so that the attempt still says whom when the neighbour has left the book.
    Pennsylvania asks that every attempt is written down [PA-128-112].
    """

    class Way(models.TextChoices):
        """How somebody was told [PA-128-112, WA-17-21]."""

        TELEPHONE = "telephone", _("by telephone")
        IN_PERSON = "in person", _("in person")
        CERTIFIED_MAIL = "certified mail", _("by certified mail")
        LETTER = "letter", _("by a letter handed over")
        EMAIL = "email", _("by an email of one's own")
        DOOR = "door", _("by a notice left at the door")

    class Outcome(models.TextChoices):
        """What came of an attempt."""

        TOLD = "told", _("told")
        ACCEPTED = "accepted", _("told, and accepts the day")
        DECLINED = "declined", _("told, and does not accept the day")
        NOT_REACHED = "not reached", _("not reached")

    REACHED = (Outcome.TOLD, Outcome.ACCEPTED, Outcome.DECLINED)

    visit = models.ForeignKey(
        Visit, models.PROTECT, related_name="contact_attempts", verbose_name=_("visit")
    )
    day = models.DateField(_("day of the visit that was told"))
    person = models.CharField(
        _("person"), max_length=40, help_text=_("Client or neighbor, with the number in the book.")
    )
    name = models.CharField(_("name"), max_length=200)
    at = models.DateTimeField(_("when"))
    way = models.CharField(_("how"), max_length=14, choices=Way.choices)
    outcome = models.CharField(_("outcome"), max_length=11, choices=Outcome.choices)
    note = models.CharField(_("note"), max_length=400, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="contact_attempts",
        verbose_name=_("tried by"),
    )
    form_id = models.UUIDField(_("form"), unique=True, editable=False)

    class Meta:
        ordering = ["visit", "at", "pk"]
        verbose_name = _("contact attempt")
        verbose_name_plural = _("contact attempts")

    def __str__(self):
        return f"{self.name}, {self.get_way_display()}: {self.get_outcome_display()}"
