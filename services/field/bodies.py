"""The shapes of what a phone sends: the batch, the event around, and a body for each kind."""

import re

from django.utils.translation import gettext_lazy as _
from rest_framework import serializers

from services.api.reports import ApplicationSerializer, ConditionsSerializer
from services.api.said import Moment
from services.models import FieldEvent, Hold
from services.rules.phone_clocks import is_uuid7
from treatments.models import Applicator, Lot, Product
from treatments.rules.canonical import GREATEST

MOST_EVENTS = 50
MOST_PHOTOS = 20  # of one event
MOST_BYTES = 15 * 1024 * 1024  # of one photo
SHORTEST_REASON = 10
SHA256 = re.compile(r"[0-9a-f]{64}")


class Uuid7(serializers.CharField):
    """An id made on the phone: a UUID of version 7 in its plain form [RFC9562]."""

    default_error_messages = {"not_uuid7": _("Give a UUID of version 7 in its plain form.")}

    def to_internal_value(self, data):
        text = super().to_internal_value(data)
        if not isinstance(data, str) or not is_uuid7(text):
            self.fail("not_uuid7")
        return text.lower()


class Digest(serializers.CharField):
    """A SHA-256 in 64 small hexadecimal digits."""

    default_error_messages = {"not_sha256": _("Give 64 hexadecimal digits, in small letters.")}

    def to_internal_value(self, data):
        text = super().to_internal_value(data)
        if text and not SHA256.fullmatch(text):
            self.fail("not_sha256")
        return text


class ClockSerializer(serializers.Serializer):
    """The phone's clock when the event was written down, beside ours as it was last seen."""

    device = Moment()
    server_seen = Moment(required=False, allow_null=True)
    ticks_ms = serializers.IntegerField(
        min_value=0,
        max_value=GREATEST,
        required=False,
        allow_null=True,
        help_text="Milliseconds since server_seen, by a counter that nobody sets.",
    )


class PhotoSerializer(serializers.Serializer):
    """A photo that will follow."""

    sha256 = Digest()
    size = serializers.IntegerField(min_value=1, max_value=MOST_BYTES, help_text="In bytes.")


class EventSerializer(serializers.Serializer):
    """One thing that was done, as the phone tells it; the body belongs to its kind."""

    event_id = Uuid7()
    device_id = serializers.UUIDField(format="hex_verbose")
    device_seq = serializers.IntegerField(min_value=1, max_value=GREATEST)
    kind = serializers.ChoiceField(choices=FieldEvent.Kind.values)
    visit_id = serializers.IntegerField(
        required=False, allow_null=True, min_value=1, max_value=GREATEST
    )
    base_version = serializers.IntegerField(
        required=False, allow_null=True, min_value=1, help_text="Version of the stop that was seen."
    )
    packet = Digest(
        required=False, allow_blank=True, help_text="Digest of the packet that was seen."
    )
    done_at = Moment()
    captured_at = Moment()
    zone = serializers.CharField(max_length=64, required=False, allow_blank=True)
    clock = ClockSerializer()
    body = serializers.DictField()
    photos = serializers.ListField(child=PhotoSerializer(), required=False, max_length=MOST_PHOTOS)


class EventBatchSerializer(serializers.Serializer):
    """Events in the order of their numbers, and how things stand on the phone."""

    device_id = serializers.UUIDField()
    unsent = serializers.IntegerField(
        min_value=0, max_value=100_000, help_text="Events on the phone without a receipt."
    )
    oldest_unsent_at = Moment(required=False, allow_null=True)
    keeps_storage = serializers.BooleanField(required=False, allow_null=True)
    events = serializers.ListField(
        child=serializers.DictField(), help_text=f"At most {MOST_EVENTS}; none asks how it stands."
    )


class EmptyBody(serializers.Serializer):
    """The crew has begun: nothing more is said."""


class LeftOutSerializer(serializers.Serializer):
    """What was left untreated, and why."""

    plantings = serializers.ListField(child=serializers.IntegerField(min_value=1), max_length=100)
    why = serializers.CharField(max_length=1000)


class CompleteBody(serializers.Serializer):
    """What was done at a visit; `done_at` of the event is its end."""

    started_at = Moment()
    posted_at = Moment(required=False, allow_null=True)
    applicator = serializers.PrimaryKeyRelatedField(
        queryset=Applicator.objects.select_related("supervisor"), required=False, allow_null=True
    )
    supervisor = serializers.PrimaryKeyRelatedField(
        queryset=Applicator.objects.all(), required=False, allow_null=True
    )
    conditions = ConditionsSerializer(required=False, allow_null=True)
    reports = serializers.ListField(child=ApplicationSerializer(), required=False, max_length=100)
    left_out = LeftOutSerializer(required=False, allow_null=True)
    note = serializers.CharField(max_length=4000, required=False, allow_blank=True)


class HoldBody(serializers.Serializer):
    """Why the visit was put off."""

    reason = serializers.ChoiceField(choices=Hold.Reason.choices)
    note = serializers.CharField(max_length=400, required=False, allow_blank=True)


class UnplannedApplication(serializers.Serializer):
    """What was applied at an unplanned stop, as far as the crew can name it."""

    on = serializers.CharField(max_length=300)
    product = serializers.PrimaryKeyRelatedField(
        queryset=Product.objects.all(), required=False, allow_null=True
    )
    product_name = serializers.CharField(max_length=120, required=False, allow_blank=True)
    lot = serializers.PrimaryKeyRelatedField(
        queryset=Lot.objects.all(), required=False, allow_null=True
    )
    product_amount = serializers.DecimalField(max_digits=10, decimal_places=3, min_value=0)
    mix_gallons = serializers.DecimalField(max_digits=10, decimal_places=3, min_value=0)


class UnplannedBody(serializers.Serializer):
    """A stop that was in no packet: where, and what was done there; the office makes it whole."""

    where = serializers.CharField(max_length=300)
    started_at = Moment(required=False)
    posted_at = Moment(required=False, allow_null=True)
    applicator = serializers.PrimaryKeyRelatedField(
        queryset=Applicator.objects.all(), required=False, allow_null=True
    )
    conditions = ConditionsSerializer(required=False, allow_null=True)
    applications = serializers.ListField(
        child=UnplannedApplication(), required=False, max_length=100
    )
    note = serializers.CharField(max_length=4000, required=False, allow_blank=True)


class AmendBody(serializers.Serializer):
    """What is to be put right of an earlier event of the same phone.

    changes: keys of the body of that event, each with its whole new value, and `done_at`
    """

    event = Uuid7()
    reason = serializers.CharField(min_length=SHORTEST_REASON, max_length=1000)
    changes = serializers.DictField(allow_empty=False)


class NoteBody(serializers.Serializer):
    """Something to be known, said or shown by photos."""

    text = serializers.CharField(max_length=4000, required=False, allow_blank=True)


BODIES: dict[str, type[serializers.Serializer]] = {
    FieldEvent.Kind.START: EmptyBody,
    FieldEvent.Kind.COMPLETE: CompleteBody,
    FieldEvent.Kind.HOLD: HoldBody,
    FieldEvent.Kind.UNPLANNED: UnplannedBody,
    FieldEvent.Kind.AMEND: AmendBody,
    FieldEvent.Kind.NOTE: NoteBody,
}


class RecordSerializer(serializers.Serializer):
    """The receipt of a record: its number, and its place and hash in the journal."""

    number = serializers.IntegerField()
    seq = serializers.IntegerField()
    leaf_hash = serializers.CharField()


class FlagSerializer(serializers.Serializer):
    """What the office will look at, in both languages."""

    code = serializers.CharField()
    en = serializers.CharField()
    es = serializers.CharField()


class MissingSerializer(serializers.Serializer):
    """A field that must be put right before there is a record."""

    field = serializers.CharField(help_text="Such as reports.0.lot; empty for the whole.")
    code = serializers.CharField()
    said = serializers.CharField()


class ReplySerializer(serializers.Serializer):
    """What became of one event."""

    event_id = serializers.CharField()
    result = serializers.ChoiceField(
        choices=["accepted", "duplicate", "accepted_flagged", "needs_input", "refused"]
    )
    records = RecordSerializer(many=True)
    flags = FlagSerializer(many=True)
    missing = MissingSerializer(many=True)
    problem = serializers.DictField(
        required=False, help_text="Of what was refused: a problem document [RFC9457]."
    )


class HeadSerializer(serializers.Serializer):
    """Size and root of the journal: a copy in the phone's hands."""

    size = serializers.IntegerField()
    # Every field has a `root` of its own, which this one's name hides.
    root = serializers.CharField()  # type: ignore[assignment]


class SyncedSerializer(serializers.Serializer):
    """What became of a batch, and how the book stands."""

    server_time = serializers.DateTimeField()
    epoch = serializers.CharField(help_text="Another one: offer receipted events of 14 days again.")
    last_seq = serializers.IntegerField()
    gaps = serializers.ListField(
        child=serializers.ListField(child=serializers.IntegerField(), min_length=2, max_length=2),
        help_text="First and last of each run of numbers that never came.",
    )
    head = HeadSerializer(allow_null=True)
    replies = ReplySerializer(many=True)


class PacketSerializer(serializers.Serializer):
    """The stops of a crew; what is in `packet` is told in DEVELOPERS.md."""

    made_at = serializers.DateTimeField()
    digest = serializers.CharField()
    epoch = serializers.CharField()
    device = serializers.DictField()
    packet = serializers.DictField()


class PhotoStandingSerializer(serializers.Serializer):
    """How much of a photo has come."""

    sha256 = serializers.CharField()
    size = serializers.IntegerField()
    received = serializers.IntegerField()
    kept = serializers.BooleanField()
