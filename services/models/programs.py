"""Other programs of the business: keys by which they sign in, and addresses that are called."""

from datetime import datetime
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from treatments.models.fields import CodeListField

# Parted by a colon as scopes of OAuth 2.0 often are [RFC 6749, section 3.3].
SCOPES = [
    ("read", _("read what the person may read")),
    ("write:clients", _("write clients, properties and plantings")),
    ("write:treatments", _("write products, store, counts, rotations and records")),
    ("write:services", _("write courses, visits, crews and dispatches")),
    ("write:people", _("add people, change roles, enroll phones, open records to inspectors")),
    ("remove", _("remove for good what cannot be brought back")),
]


class ProgramKey(models.Model):
    """A key with which a program signs in as a person, within scopes; its digest is kept alone."""

    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.CASCADE,
        related_name="program_keys",
        verbose_name=_("person"),
        help_text=_("The program may do what this person may do, and no more than its scopes."),
    )
    name = models.CharField(_("name of the program"), max_length=80)
    scopes = CodeListField(_("scopes"), codes=SCOPES, blank=False)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    made_at = models.DateTimeField(_("made"), editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="program_keys_made",
        verbose_name=_("made by"),
        editable=False,
    )
    expires_on = models.DateField(_("last day"))
    used_at = models.DateTimeField(_("last used"), null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(_("taken back"), null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-made_at", "-pk"]
        verbose_name = _("key of a program")
        verbose_name_plural = _("keys of programs")

    def __str__(self):
        return self.name

    def is_open_at(self, moment: datetime) -> bool:
        """Say whether a program may still sign in with it."""
        return self.revoked_at is None and moment.date() <= self.expires_on


class Hook(models.Model):
    """An address that is called when something happens in the book."""

    class Event(models.TextChoices):
        """What happened."""

        VISIT_COMPLETED = "visit.completed", _("a visit was made")
        VISIT_HELD = "visit.held", _("a visit was put off")
        ROUTE_DISPATCHED = "route.dispatched", _("a crew was given its day")
        DAY_ASKED = "day.asked", _("a client asks for another day")

    hook_id = models.UUIDField(default=uuid4, unique=True, editable=False)
    name = models.CharField(_("name of the program"), max_length=80)
    address = models.CharField(_("address"), max_length=300)
    events = CodeListField(_("called when"), codes=Event.choices, blank=False)
    made_at = models.DateTimeField(_("made"), editable=False)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="hooks_made",
        verbose_name=_("made by"),
        editable=False,
    )
    ended_at = models.DateTimeField(_("taken back"), null=True, blank=True, editable=False)

    class Meta:
        ordering = ["-made_at", "-pk"]
        verbose_name = _("address that is called")
        verbose_name_plural = _("addresses that are called")

    def __str__(self):
        return self.name
