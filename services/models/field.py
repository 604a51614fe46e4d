"""What comes in from the crews' phones: the phones, what they were sent, what they said, photos."""

import hashlib
from datetime import timedelta
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

IDLE = timedelta(days=30)  # after which a phone must be enrolled again


class DeviceQuerySet(models.QuerySet):
    """Ways to pick phones that read as the office says them."""

    def enrolled(self):
        """Pick the phones that were enrolled and that nobody took back."""
        return self.filter(enrolled_at__isnull=False, revoked_at__isnull=True)


class Device(models.Model):
    """A phone of one person, enrolled by a code that works once.

    Only digests of the code and of what the phone holds are kept.  `last_seq`, `unsent` and
    `oldest_unsent_at` are as the phone said when it was last heard of.
    """

    id = models.UUIDField(primary_key=True, default=uuid4, editable=False)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="devices", verbose_name=_("person")
    )
    name = models.CharField(_("name"), max_length=100)
    code_digest = models.CharField(max_length=64, unique=True, editable=False)
    code_ends_at = models.DateTimeField(_("code ends"))
    # None until the phone is enrolled: an empty text would be unique as well.
    token_digest = models.CharField(  # noqa: DJ001
        max_length=64, unique=True, null=True, editable=False
    )
    made_at = models.DateTimeField(_("code made"))
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="device_codes_made",
        verbose_name=_("code made by"),
    )
    enrolled_at = models.DateTimeField(_("enrolled"), null=True, blank=True)
    last_contact_at = models.DateTimeField(_("last heard of"), null=True, blank=True)
    last_seq = models.PositiveBigIntegerField(_("last number"), default=0)
    unsent = models.PositiveIntegerField(_("not sent yet"), null=True, blank=True)
    oldest_unsent_at = models.DateTimeField(_("oldest not sent"), null=True, blank=True)
    skew_seconds = models.IntegerField(_("clock ahead by (s)"), null=True, blank=True)
    keeps_storage = models.BooleanField(_("storage is kept"), null=True, blank=True)
    revoked_at = models.DateTimeField(_("taken back"), null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="devices_revoked",
        verbose_name=_("taken back by"),
    )

    objects = DeviceQuerySet.as_manager()

    class Meta:
        ordering = ["person", "-made_at"]
        verbose_name = _("phone")
        verbose_name_plural = _("phones")
        constraints = [
            models.CheckConstraint(
                name="device_enrolled_has_a_token",
                condition=Q(enrolled_at__isnull=True, token_digest__isnull=True)
                | Q(enrolled_at__isnull=False, token_digest__isnull=False),
            ),
        ]

    def __str__(self):
        return self.name

    @staticmethod
    def digest_of(secret: str) -> str:
        """Return what is kept of a code or a token: its SHA-256 in hex."""
        return hashlib.sha256(secret.encode()).hexdigest()

    def is_open_at(self, moment) -> bool:
        """Say whether the phone may speak for its person at a moment."""
        if self.revoked_at is not None or self.last_contact_at is None:
            return False
        return moment < self.last_contact_at + IDLE


class Packet(models.Model):
    """The stops that a phone was sent, as they were: what its crew saw."""

    device = models.ForeignKey(
        Device, models.PROTECT, related_name="packets", verbose_name=_("phone")
    )
    digest = models.CharField(_("digest"), max_length=64)
    content = models.TextField(_("content"), help_text=_("JSON as it was sent."))
    visits = models.ManyToManyField("services.Visit", related_name="packets", blank=True)
    first_sent_at = models.DateTimeField(_("first sent"))

    class Meta:
        ordering = ["device", "-first_sent_at"]
        verbose_name = _("packet")
        verbose_name_plural = _("packets")
        constraints = [
            models.UniqueConstraint("device", "digest", name="packet_once_a_device_and_digest"),
        ]

    def __str__(self):
        return f"{self.device}, {self.first_sent_at:%Y-%m-%d %H:%M}"


class FieldEventQuerySet(models.QuerySet):
    """Ways to pick what phones said."""

    def to_review(self):
        """Pick what waits for a person to decide."""
        return self.filter(needs_review=True, decided_at__isnull=True)


class FieldEvent(models.Model):
    """One thing a phone said, kept as it was told, with what became of it.

    A second report of a visit that came on paper or by the API stands here as well, without a
    phone, so that a person decides which of the two holds.

    `event_id` is made on the phone and is known for ever: a repeat finds it.  The three times are
    never rewritten.  What cannot be a record yet is a draft here until a person completes it.
    """

    class Kind(models.TextChoices):
        """What was said."""

        START = "start", _("began")
        COMPLETE = "complete", _("completed")
        HOLD = "hold", _("put off")
        UNPLANNED = "unplanned", _("unplanned stop")
        AMEND = "amend", _("correction")
        NOTE = "note", _("note")

    class Result(models.TextChoices):
        """What was answered."""

        ACCEPTED = "accepted", _("accepted")
        FLAGGED = "accepted_flagged", _("accepted, to be looked at")
        NEEDS_INPUT = "needs_input", _("draft: something is missing")
        REFUSED = "refused", _("not taken")

    class Decision(models.TextChoices):
        """What the office decided."""

        SEEN = "seen", _("it stands as it is")
        BOTH = "both", _("both crews sprayed: both records stand")
        THIS_TWICE = "this twice", _("told twice: this report does not stand")
        FIRST_TWICE = "first twice", _("told twice: the other report does not stand")
        OTHER_PLACE = "other place", _("it was another planting")
        COMPLETED = "completed", _("the draft was completed")
        DROPPED = "dropped", _("the draft is no report")
        AMENDED = "amended", _("the record was amended")

    event_id = models.UUIDField(_("event"), unique=True)
    device = models.ForeignKey(
        Device,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="events",
        verbose_name=_("phone"),
    )
    device_seq = models.PositiveBigIntegerField(_("number on the phone"))
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        related_name="field_events",
        verbose_name=_("person"),
    )
    kind = models.CharField(_("kind"), max_length=9, choices=Kind.choices)
    visit = models.ForeignKey(
        "services.Visit",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="field_events",
        verbose_name=_("visit"),
    )
    done_at = models.DateTimeField(_("done"), null=True, blank=True)
    captured_at = models.DateTimeField(_("written down"), null=True, blank=True)
    received_at = models.DateTimeField(_("received"))
    skew_seconds = models.IntegerField(_("clock ahead by (s)"), null=True, blank=True)
    fingerprint = models.CharField(_("fingerprint"), max_length=64)
    told = models.TextField(_("as it was told"), help_text=_("JSON in ASCII."))
    result = models.CharField(_("result"), max_length=16, choices=Result.choices)
    reply = models.JSONField(_("reply"), default=dict)
    records = models.ManyToManyField(
        "treatments.ApplicationRecord", related_name="field_events", blank=True
    )
    needs_review = models.BooleanField(_("to be looked at"), default=False)
    decision = models.CharField(
        _("decision"), max_length=11, choices=Decision.choices, blank=True, default=""
    )
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="field_decisions",
        verbose_name=_("decided by"),
    )
    decided_at = models.DateTimeField(_("decided"), null=True, blank=True)
    decision_reason = models.TextField(_("reason"), max_length=1000, blank=True)

    objects = FieldEventQuerySet.as_manager()

    class Meta:
        ordering = ["-received_at", "device", "-device_seq"]
        verbose_name = _("event from a phone")
        verbose_name_plural = _("events from phones")
        indexes = [
            models.Index(fields=["device", "device_seq"], name="field_event_device_seq"),
            models.Index(
                fields=["received_at"],
                name="field_event_to_review",
                condition=Q(needs_review=True, decided_at__isnull=True),
            ),
        ]
        constraints = [
            models.CheckConstraint(
                name="field_event_decided_by_a_person_with_a_reason",
                condition=Q(decision="", decided_at__isnull=True)
                | (~Q(decision="") & Q(decided_at__isnull=False, decided_by__isnull=False)),
            ),
        ]

    def __str__(self):
        if self.device is None:
            return f"{self.get_kind_display()}, {self.person}"
        return f"{self.get_kind_display()}, {self.device} {self.device_seq}"


class FieldPhoto(models.Model):
    """A photo that an event announced by its SHA-256; the file itself comes in pieces, later."""

    event = models.ForeignKey(
        FieldEvent, models.PROTECT, related_name="photos", verbose_name=_("event")
    )
    device = models.ForeignKey(
        Device, models.PROTECT, related_name="photos", verbose_name=_("phone")
    )
    sha256 = models.CharField(_("SHA-256"), max_length=64)
    size = models.PositiveIntegerField(_("bytes"))
    kept_at = models.DateTimeField(_("kept"), null=True, blank=True)
    kind = models.CharField(_("format"), max_length=4, blank=True)
    shows_sign = models.BooleanField(_("shows the sign"), default=False)
    marked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="photos_marked",
        verbose_name=_("marked by"),
    )

    class Meta:
        ordering = ["event", "pk"]
        verbose_name = _("photo")
        verbose_name_plural = _("photos")
        constraints = [
            models.UniqueConstraint("event", "sha256", name="photo_once_an_event"),
        ]

    def __str__(self):
        return self.sha256[:12]
