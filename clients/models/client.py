"""Client: who has the property cared for."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from clients.access import STAFF, has_role, reachable_properties
from clients.lying import town_line


class ClientQuerySet(models.QuerySet):
    """Ways to pick clients that read as the trade says them."""

    def for_user(self, user):
        """Pick the clients whose properties a person may see."""
        if has_role(user, STAFF):
            return self
        return self.filter(properties__in=reachable_properties(user)).distinct()


class Client(models.Model):
    """A person or firm who has one or more properties cared for."""

    name = models.CharField(_("name"), max_length=200)
    email = models.EmailField(_("email"), blank=True)
    mail_came_back_on = models.DateField(
        _("mail came back on"),
        null=True,
        blank=True,
        help_text=_("Nothing more is mailed until there is another address, or this is emptied."),
    )
    letters_stopped_on = models.DateField(
        _("letters stopped on"),
        null=True,
        blank=True,
        help_text=_("Summaries and proposals are not mailed; what a rule asks for still is."),
    )
    phone = models.CharField(_("telephone"), max_length=40, blank=True)
    street = models.CharField(_("street"), max_length=200, blank=True)
    city = models.CharField(_("town"), max_length=100, blank=True)
    region = models.CharField(_("state"), max_length=2, blank=True)
    postal_code = models.CharField(_("ZIP code"), max_length=10, blank=True)
    language = models.CharField(
        _("language"),
        max_length=2,
        choices=[("en", "English"), ("es", "Español")],
        default="en",
        help_text=_("The language of letters, summaries and notices."),
    )
    organic_only = models.BooleanField(
        _("organic only"),
        default=False,
        help_text=_("Only products listed for organic use may be planned."),
    )
    wants_notice = models.BooleanField(_("wants notice before each visit"), default=True)
    note = models.TextField(_("note"), max_length=4000, blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        verbose_name = _("client")
        verbose_name_plural = _("clients")

    def __str__(self):
        return self.name

    def mailbox(self):
        """Return the address to which mail goes, or nothing where mail came back from it."""
        return "" if self.mail_came_back_on else self.email

    def letterbox(self):
        """Return the address for letters that no rule asks for, or nothing where they stopped."""
        return "" if self.letters_stopped_on else self.mailbox()

    def postal_address(self):
        """Return the address as it stands on a letter, one line a part."""
        place = town_line(self.city, self.region, self.postal_code)
        return "\n".join(part for part in [self.name, self.street, place] if part)
