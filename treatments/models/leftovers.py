"""What was left over after a job, and what was done with it."""

from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, has_role
from treatments.rules.leftovers import Leftover


class LeftoverNoteQuerySet(models.QuerySet):
    """Ways to pick notes that read as the trade says them."""

    def for_user(self, user):
        """Pick the notes a person may see: the staff all, anybody else the own ones."""
        return self if has_role(user, STAFF) else self.filter(noted_by=user)


class LeftoverNote(models.Model):
    """A note of mix or rinse that was left over, and of what became of it."""

    class Kind(models.TextChoices):
        """What was left."""

        MIX = Leftover.MIX.value, _("mix")
        TANK_RINSE = Leftover.TANK_RINSE.value, _("rinse of a tank")

    class Done(models.TextChoices):
        """What became of it."""

        SPRAYED_ON_SITE = "sprayed on site", _("sprayed on a site its label names, within rate")
        SPRAYED_OVER = "sprayed over", _("sprayed out over what was treated, within rate")
        HANDED_IN = "handed in", _("handed in for disposal as the state asks")

    kind = models.CharField(_("what was left"), max_length=12, choices=Kind.choices)
    product = models.ForeignKey(
        "treatments.Product",
        models.PROTECT,
        related_name="leftover_notes",
        verbose_name=_("product"),
    )
    gallons = models.DecimalField(
        _("how much (gal)"),
        max_digits=6,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.01"))],
    )
    done = models.CharField(_("what became of it"), max_length=16, choices=Done.choices)
    note = models.CharField(
        _("where, and by whose word"),
        max_length=300,
        help_text=_("The site it was sprayed on, or the place that took it."),
    )
    happened_on = models.DateField(_("on"))
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        related_name="leftover_notes",
        verbose_name=_("noted by"),
    )

    form_id = models.UUIDField(_("form"), null=True, editable=False)

    objects = LeftoverNoteQuerySet.as_manager()

    class Meta:
        ordering = ["-happened_on", "-pk"]
        verbose_name = _("note of a leftover")
        verbose_name_plural = _("notes of leftovers")
        constraints = [
            models.CheckConstraint(
                name="leftover_is_some",
                condition=Q(gallons__gt=0),
                violation_error_message=_("Note how much was left."),
            ),
            models.UniqueConstraint(
                "form_id",
                name="leftover_note_once_a_form",
                condition=Q(form_id__isnull=False),
                violation_error_message=_("This form_id was used for something else."),
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()}, {self.product}, {self.happened_on}"
