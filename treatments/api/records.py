"""Application records: read, listed, amended by a second one; never changed or removed."""

from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import EVERYONE, STAFF, Role, has_role
from treatments.api.keeping import ByRoleViewSet
from treatments.approval import approved_reason, certified_applicators, needs_approval
from treatments.forms.records import SHORTEST_REASON, AmendForm, SiftForm
from treatments.models import ApplicationRecord
from treatments.recording import amend_application, clocks_of, what_is_missing

INSPECTOR = frozenset({Role.INSPECTOR})
COLUMNS = [field.name for field in ApplicationRecord._meta.concrete_fields if field.name != "id"]


class ApplicationRecordSerializer(serializers.ModelSerializer):
    """A record as it was kept, with its clock and what it lacks."""

    amended_by: Any = serializers.SlugRelatedField(slug_field="number", read_only=True)
    amends: Any = serializers.SlugRelatedField(slug_field="number", read_only=True)
    flags = serializers.ListField(child=serializers.DictField(), read_only=True)
    due_at = serializers.SerializerMethodField()
    missing = serializers.SerializerMethodField()

    class Meta:
        model = ApplicationRecord
        fields = [*COLUMNS, "amended_by", "due_at", "missing"]
        read_only_fields = fields

    def to_representation(self, instance):
        """Leave out the note of the business where an inspector reads."""
        shown = super().to_representation(instance)
        if has_role(self.context["request"].user, INSPECTOR):
            shown["note"] = ""
        return shown

    def get_due_at(self, record) -> str:
        """Return when it had to be written, as ISO 8601 has it."""
        return clocks_of(record).due.due_at.isoformat()

    def get_missing(self, record) -> list[str]:
        """Return the fields that the rules of its place ask for and it lacks."""
        return [needed.field for needed in what_is_missing(record)]


class AmendmentSerializer(serializers.ModelSerializer):
    """What was wrong, told right, and why; what is not sent stays as it was."""

    reason = serializers.CharField(min_length=SHORTEST_REASON, max_length=900)
    event_id = serializers.UUIDField(required=False)
    approved_by = serializers.PrimaryKeyRelatedField(
        queryset=certified_applicators(),
        required=False,
        help_text="Who agrees, where the office amends.",
    )

    class Meta:
        model = ApplicationRecord
        fields = ["reason", "event_id", "approved_by", *AmendForm.Meta.fields]
        extra_kwargs = {name: {"required": False} for name in AmendForm.Meta.fields}

    def validate(self, told):
        asks = needs_approval(self.context["request"].user)
        if asks and not told.get("approved_by"):
            raise serializers.ValidationError({"approved_by": [_("Name who agrees to it.")]})
        record = self.context["record"]
        lot, product = told.get("lot", record.lot), told.get("product", record.product)
        if lot is not None and lot.product_id != product.pk:
            raise serializers.ValidationError({"lot": [_("This lot is of another product.")]})
        return told

    def create(self, validated_data):
        approver = validated_data.pop("approved_by", None)
        reason = approved_reason(validated_data.pop("reason"), approver)
        by = self.context["request"].user
        return amend_application(self.context["record"], reason=reason, by=by, **validated_data)


SOUGHT = [OpenApiParameter(name, str) for name in SiftForm.base_fields]


class ApplicationRecordViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Records, by their number."""

    readers = EVERYONE
    writers = STAFF
    lookup_field = "number"
    queryset = ApplicationRecord.objects.select_related("amended_by", "amends")
    serializer_class = ApplicationRecordSerializer

    @extend_schema(parameters=SOUGHT)
    def list(self, request, *args, **kwargs):
        return super().list(request, *args, **kwargs)

    def filter_queryset(self, queryset):
        if self.action != "list":
            return queryset
        return SiftForm(self.request.query_params, records=queryset).found()

    @extend_schema(request=AmendmentSerializer, responses={201: ApplicationRecordSerializer})
    @action(detail=True, methods=["post"])
    def amend(self, request, number):
        """Keep a second record in place of this one, which stays as it is."""
        context = {**self.get_serializer_context(), "record": self.get_object()}
        told = AmendmentSerializer(data=request.data, context=context)
        told.is_valid(raise_exception=True)
        second = told.save()
        return Response(self.get_serializer(second).data, status=status.HTTP_201_CREATED)
