"""What was given out of the hand: copies of records to clients, returns to agencies."""

from django.conf import settings
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly


class CopyGiven(AppendOnly):
    """That the client has a copy of a record: when, in which way, by whom.

    The first one counts; what amends the record is another record, of which a copy is given anew.
    """

    class Way(models.TextChoices):
        """How the copy came to the client."""

        HAND = "hand", _("handed over")
        LETTER = "letter", _("by letter")
        MAIL = "mail", _("by mail from the book")
        OTHER_MAIL = "other mail", _("by another mail")

    record = models.OneToOneField(
        "treatments.ApplicationRecord",
        models.PROTECT,
        related_name="copy_given",
        verbose_name=_("application record"),
    )
    given_on = models.DateField(_("given on"))
    way = models.CharField(_("how"), max_length=10, choices=Way.choices)
    given_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="copies_given",
        verbose_name=_("by"),
    )
    noted_at = models.DateTimeField(_("noted"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["-given_on", "-pk"]
        verbose_name = _("copy given")
        verbose_name_plural = _("copies given")

    def __str__(self):
        return f"{self.record_id}: {self.given_on}"


class ReturnFiled(AppendOnly):
    """That the return of a period was filed with the agency: when, by whom, how."""

    jurisdiction = models.CharField(_("jurisdiction"), max_length=6)
    first_day = models.DateField(_("first day of the period"))
    filed_on = models.DateField(_("filed on"))
    how = models.CharField(
        _("how, and under which number"),
        max_length=200,
        help_text=_("Such as by post, on the agency's own page, with the number of the receipt."),
    )
    filed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="returns_filed",
        verbose_name=_("filed by"),
    )
    noted_at = models.DateTimeField(_("noted"), default=timezone.now, editable=False)

    class Meta:
        ordering = ["jurisdiction", "first_day"]
        verbose_name = _("return filed")
        verbose_name_plural = _("returns filed")
        constraints = [
            models.UniqueConstraint("jurisdiction", "first_day", name="return_filed_once_a_period"),
        ]

    def __str__(self):
        return f"{self.jurisdiction}, {self.first_day}"
