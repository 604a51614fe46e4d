"""The business whose book this is: its name and licence stand on every paper."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.lying import town_line


class Business(models.Model):
    """The one business of this book."""

    class Paper(models.TextChoices):
        """Sheet sizes [ANSI Y14.1 letter; ISO 216 A4]."""

        LETTER = "letter", _("US letter")
        A4 = "A4", "A4"

    name = models.CharField(_("name"), max_length=200)
    licence_number = models.CharField(_("business license number"), max_length=60, blank=True)
    street = models.CharField(_("street"), max_length=200, blank=True)
    city = models.CharField(_("town"), max_length=100, blank=True)
    region = models.CharField(_("state"), max_length=2, blank=True)
    postal_code = models.CharField(_("ZIP code"), max_length=10, blank=True)
    phone = models.CharField(_("telephone"), max_length=40, blank=True)
    email = models.EmailField(_("email"), blank=True)
    paper = models.CharField(_("paper"), max_length=6, choices=Paper.choices, default=Paper.LETTER)
    # Of owner and office; asked after the password, and turned on by the owner at a page alone.
    needs_codes = models.BooleanField(
        _("one-time codes at sign-in"), default=False, db_default=False, editable=False
    )
    invented = models.BooleanField(_("invented demonstration data"), default=False, editable=False)

    class Meta:
        verbose_name = _("business")
        verbose_name_plural = _("business")
        constraints = [
            models.CheckConstraint(name="business_is_one", condition=Q(pk=1)),
        ]

    def __str__(self):
        return self.name

    def save(self, *args, **kwargs):
        self.pk = 1
        super().save(*args, **kwargs)

    @classmethod
    def of_this_book(cls) -> "Business":
        """Return the business, or an unsaved one without a name when none was set up."""
        return cls.objects.first() or cls()

    def address(self):
        """Return the address on one line, or an empty text."""
        parts = [self.street, town_line(self.city, self.region, self.postal_code)]
        return ", ".join(part for part in parts if part)
