"""Spills: what ran out where, what was done, and who was told."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from treatments.models.append_only import AppendOnly


class SpillNote(AppendOnly):
    """A note of a spill, kept as it was written; what is learned later is another note."""

    class What(models.TextChoices):
        """What ran out."""

        CONCENTRATE = "concentrate", _("product as it came")
        MIX = "mix", _("mix")

    happened_at = models.DateTimeField(_("when"))
    place = models.CharField(
        _("where"), max_length=200, help_text=_("Store, truck, street or property.")
    )
    product = models.ForeignKey(
        "treatments.Product",
        models.PROTECT,
        related_name="spill_notes",
        verbose_name=_("product"),
    )
    what = models.CharField(_("what ran out"), max_length=11, choices=What.choices)
    lot = models.ForeignKey(
        "treatments.Lot",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="spill_notes",
        verbose_name=_("lot"),
        help_text=_("Where product as it came ran out: the ledger takes it off this lot."),
    )
    amount = models.DecimalField(
        _("about how much"),
        max_digits=8,
        decimal_places=2,
        help_text=_("Of product in the unit it is kept in; of mix in gallons."),
    )
    reached_water = models.BooleanField(_("it reached a drain or water"), default=False)
    anybody_hurt = models.BooleanField(_("somebody was hurt or exposed"), default=False)
    done = models.TextField(
        _("what was done"), max_length=1000, help_text=_("Kept people away, dammed up, took up.")
    )
    told = models.CharField(
        _("who was told, and when"),
        max_length=400,
        blank=True,
        help_text=_("State agency, National Response Center, the client, the maker."),
    )
    noted_at = models.DateTimeField(_("noted"), editable=False)
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="spill_notes",
        verbose_name=_("noted by"),
        editable=False,
    )
    form_id = models.UUIDField(_("form"), null=True, editable=False)

    class Meta:
        ordering = ["-happened_at", "-pk"]
        verbose_name = _("note of a spill")
        verbose_name_plural = _("notes of spills")
        constraints = [
            models.CheckConstraint(
                name="spill_is_some",
                condition=Q(amount__gt=0),
                violation_error_message=_("Note about how much ran out."),
            ),
            models.UniqueConstraint(
                "form_id",
                name="spill_note_once_a_form",
                condition=Q(form_id__isnull=False),
                violation_error_message=_("This form_id was used for something else."),
            ),
        ]

    def __str__(self):
        return f"{self.product}, {self.place}, {self.happened_at:%Y-%m-%d}"
