"""Application records: read, listed, amended by a second one; never changed or removed."""

from itertools import islice
from typing import Any

from django.core.exceptions import PermissionDenied
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CERTIFIED, CREW, EVERYONE, STAFF, Role, has_role
from treatments.api.keeping import REMOVES, ByRoleViewSet, QuickSerializer
from treatments.approval import may_ask, may_ask_to_void
from treatments.correcting import agree, ask_to_void, correct_record, decline
from treatments.disposing import Beside, dispose_of, past_their_time
from treatments.forms.handing import MOST_AT_ONCE, TYPED_WAYS
from treatments.forms.records import SHORTEST_REASON, AmendForm, SiftForm
from treatments.handing import give_copies
from treatments.models import ApplicationRecord, Correction, RecordSigned
from treatments.recording import due_of, what_is_missing
from treatments.signing_off import sign_records

INSPECTOR = frozenset({Role.INSPECTOR})
OWNER = frozenset({Role.OWNER})
MOST_DISPOSED = 200  # at once; our own choice
COLUMNS = [field.name for field in ApplicationRecord._meta.concrete_fields if field.name != "id"]


class SignedSerializer(serializers.ModelSerializer):
    """Who signed a record, and when."""

    class Meta:
        model = RecordSigned
        fields = ["signer_name", "certificate_number", "signed_at"]


class NumberBeside(serializers.SlugRelatedField):
    """The number of the record beside this one, read with it where the list was asked for so."""

    def __init__(self):
        super().__init__(slug_field="number", read_only=True, allow_null=True)

    def get_attribute(self, instance):
        column = f"{self.source}_number"
        if column in vars(instance):
            return vars(instance)[column]
        beside: Any = super().get_attribute(instance)
        return beside and beside.number

    def to_representation(self, number):
        return number


class ApplicationRecordSerializer(QuickSerializer):
    """A record as it was kept, with its clock and what it lacks."""

    amended_by: Any = NumberBeside()
    amends: Any = NumberBeside()
    flags = serializers.ListField(child=serializers.DictField(), read_only=True)
    signed = SignedSerializer(read_only=True, allow_null=True)
    due_at = serializers.SerializerMethodField()
    missing = serializers.SerializerMethodField()

    class Meta:
        model = ApplicationRecord
        fields = [*COLUMNS, "amended_by", "signed", "due_at", "missing"]
        read_only_fields = fields

    def to_representation(self, instance):
        """Leave out the note of the business where an inspector reads."""
        shown = super().to_representation(instance)
        if has_role(self.context["request"].user, INSPECTOR):
            shown["note"] = ""
        return shown

    def get_due_at(self, record) -> str:
        """Return when it had to be written, as ISO 8601 has it."""
        return due_of(record).due_at.isoformat()

    def get_missing(self, record) -> list[str]:
        """Return the fields that the rules of its place ask for and it lacks."""
        return [needed.field for needed in what_is_missing(record)]


class AmendmentSerializer(serializers.ModelSerializer):
    """What was wrong, told right, and why; what is not sent stays as it was."""

    reason = serializers.CharField(min_length=SHORTEST_REASON, max_length=900)
    event_id = serializers.UUIDField(required=False)

    class Meta:
        model = ApplicationRecord
        fields = ["reason", "event_id", *AmendForm.Meta.fields]
        extra_kwargs = {name: {"required": False} for name in AmendForm.Meta.fields}

    def validate(self, told):
        record = self.context["record"]
        lot, product = told.get("lot", record.lot), told.get("product", record.product)
        if lot is not None and lot.product_id != product.pk:
            raise serializers.ValidationError({"lot": [_("This lot is of another product.")]})
        return told

    def create(self, validated_data):
        by = self.context["request"].user
        return correct_record(self.context["record"], by=by, at=timezone.now(), **validated_data)


class CorrectionSerializer(serializers.ModelSerializer):
    """What somebody asked to correct, and what was answered."""

    record: Any = serializers.SlugRelatedField(slug_field="number", read_only=True)
    changes = serializers.DictField(read_only=True)
    agreed = serializers.BooleanField(
        source="answer.agreed", read_only=True, allow_null=True, default=None
    )

    class Meta:
        model = Correction
        fields = ["id", "record", "void", "changes", "reason", "asked_by", "asked_at", "agreed"]
        read_only_fields = fields


class DeclinedSerializer(serializers.Serializer):
    """Why a correction is declined."""

    note = serializers.CharField(max_length=300, required=False, default="")


class VoidSerializer(serializers.Serializer):
    """Why a record is to be declared void."""

    reason = serializers.CharField(min_length=SHORTEST_REASON, max_length=900)
    event_id = serializers.UUIDField(required=False)


class CopiesSerializer(serializers.Serializer):
    """Of which records the clients have copies, since when and how they came to them."""

    records = serializers.ListField(
        child=serializers.IntegerField(min_value=1), allow_empty=False, max_length=MOST_AT_ONCE
    )
    given_on = serializers.DateField()
    way = serializers.ChoiceField(choices=TYPED_WAYS)


class PastSerializer(serializers.Serializer):
    """A record that need not be kept any longer."""

    record = serializers.IntegerField()
    keep_until = serializers.DateField()


class DisposeSerializer(serializers.Serializer):
    """Which records are disposed of for good; `others`: past holds and notices as well."""

    records = serializers.ListField(
        child=serializers.IntegerField(min_value=1), max_length=MOST_DISPOSED
    )
    others = serializers.BooleanField(default=False)
    sure = serializers.BooleanField(help_text="True: it cannot be undone.")

    def validate_sure(self, sure):
        """Refuse who is not sure."""
        if not sure:
            raise serializers.ValidationError(_("Confirm that it cannot be undone."))
        return sure


class CountSerializer(serializers.Serializer):
    """Of how many it is new."""

    count = serializers.IntegerField()


SOUGHT = [OpenApiParameter(name, str) for name in SiftForm.base_fields]


class ApplicationRecordViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Records, by their number."""

    readers = EVERYONE
    writers = STAFF
    lookup_field = "number"
    queryset = ApplicationRecord.objects.select_related("signed").with_neighbours()
    serializer_class = ApplicationRecordSerializer

    @extend_schema(parameters=SOUGHT)
    def list(self, request, *args, **kwargs):
        return super().list(request, *args, **kwargs)

    def filter_queryset(self, queryset):
        if self.action != "list":
            return queryset
        return SiftForm(self.request.query_params, records=queryset).found()

    @extend_schema(
        request=AmendmentSerializer,
        responses={201: ApplicationRecordSerializer, 202: CorrectionSerializer},
    )
    @action(detail=True, methods=["post"], writers=CREW)
    def amend(self, request, number):
        """Keep a second record in place of this one, or ask for it where somebody must agree."""
        record = self.get_object()
        if not may_ask(request.user, record):
            raise PermissionDenied
        context = {**self.get_serializer_context(), "record": record}
        told = AmendmentSerializer(data=request.data, context=context)
        told.is_valid(raise_exception=True)
        done = told.save()
        if isinstance(done, Correction):
            return Response(CorrectionSerializer(done).data, status=status.HTTP_202_ACCEPTED)
        return Response(self.get_serializer(done).data, status=status.HTTP_201_CREATED)

    @extend_schema(request=None, responses=ApplicationRecordSerializer)
    @action(detail=True, methods=["post"], writers=CERTIFIED)
    def sign(self, request, number):
        """Sign a record, as who holds a certificate; a second time changes nothing."""
        sign_records([self.get_object()], by=request.user, at=timezone.now())
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=VoidSerializer, responses={202: CorrectionSerializer})
    @action(detail=True, methods=["post"], writers=CERTIFIED)
    def void(self, request, number):
        """Ask that a record be declared void; somebody certified agrees."""
        record = self.get_object()
        if not may_ask_to_void(request.user, record):
            raise PermissionDenied
        told = VoidSerializer(data=request.data)
        told.is_valid(raise_exception=True)
        asked = ask_to_void(record, by=request.user, at=timezone.now(), **told.validated_data)
        return Response(CorrectionSerializer(asked).data, status=status.HTTP_202_ACCEPTED)

    @extend_schema(request=CopiesSerializer, responses=CountSerializer)
    @action(detail=False, methods=["post"], writers=CREW)
    def copies(self, request):
        """Note that clients were given copies of records; say of how many that is new."""
        told = CopiesSerializer(data=request.data)
        told.is_valid(raise_exception=True)
        asked = told.validated_data
        found = self.get_queryset().current().filter(number__in=asked.pop("records"))
        count = give_copies(
            list(found), on=asked["given_on"], way=asked["way"], by=request.user, at=timezone.now()
        )
        return Response({"count": count})

    @extend_schema(responses=PastSerializer(many=True))
    @action(detail=False, methods=["get"], readers=OWNER, pagination_class=None)
    def past(self, request):
        """Return the records that need not be kept any longer, at most two hundred."""
        rows = islice(past_their_time(timezone.now().date()), MOST_DISPOSED)
        return Response(
            [{"record": row.record.number, "keep_until": row.keep_until} for row in rows]
        )

    @extend_schema(request=DisposeSerializer, responses=CountSerializer)
    @action(detail=False, methods=["post"], writers=OWNER, scope=REMOVES)
    def dispose(self, request):
        """Dispose of records whose time is past, for good; say how many were."""
        told = DisposeSerializer(data=request.data)
        told.is_valid(raise_exception=True)
        asked, now = told.validated_data, timezone.now()
        found = self.get_queryset().filter(number__in=asked["records"])
        count = dispose_of(list(found), by=request.user, at=now)
        if asked["others"]:
            count += Beside.dispose_of_past(request.user, now)
        return Response({"count": count})


class CorrectionViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Corrections that were asked for; who is certified agrees to them or declines."""

    readers = STAFF
    writers = CERTIFIED
    queryset = Correction.objects.select_related("record", "answer")
    serializer_class = CorrectionSerializer

    @extend_schema(request=None, responses={201: ApplicationRecordSerializer})
    @action(detail=True, methods=["post"])
    def agree(self, request, pk):
        """Agree, and keep the record that was asked for."""
        kept = agree(self.get_object(), by=request.user, at=timezone.now())
        told = ApplicationRecordSerializer(kept, context=self.get_serializer_context())
        return Response(told.data, status=status.HTTP_201_CREATED)

    @extend_schema(request=DeclinedSerializer, responses=CorrectionSerializer)
    @action(detail=True, methods=["post"])
    def decline(self, request, pk):
        """Decline; the record stands as it is."""
        told = DeclinedSerializer(data=request.data)
        told.is_valid(raise_exception=True)
        correction = self.get_object()
        decline(correction, by=request.user, at=timezone.now(), **told.validated_data)
        return Response(self.get_serializer(self.get_queryset().get(pk=correction.pk)).data)
