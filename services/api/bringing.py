"""Files brought: sent, looked at, confirmed, undone or given up."""

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.parsers import MultiPartParser
from rest_framework.response import Response

from clients.access import OFFICE, role_of
from services import bringing
from services.bringing import ENCODINGS, KINDS, SEPARATORS, Sent
from services.models import Bringing
from treatments.api.keeping import ByRoleViewSet


class KindSerializer(serializers.Serializer):
    """A kind of file, its columns in order, and where a file to fill in is fetched."""

    kind = serializers.CharField()
    columns = serializers.ListField(child=serializers.CharField())
    csv = serializers.CharField()
    xlsx = serializers.CharField()


class SaidOfRow(serializers.Serializer):
    """What is said of a cell; row 0 is the file, without a column it is the row."""

    row = serializers.IntegerField()
    letter = serializers.CharField()
    column = serializers.CharField()
    sentence = serializers.CharField()

    def to_representation(self, instance):
        """Return what a look keeps in order, by name."""
        return dict(zip(self.fields, instance, strict=True))


class FoundInFileSerializer(serializers.Serializer):
    """What the look found: rows that are new, rows that the book has, faults and hints."""

    rows = serializers.IntegerField()
    new = serializers.IntegerField()
    known = serializers.IntegerField()
    unread = serializers.ListField(child=serializers.CharField())
    faults_in_all = serializers.IntegerField()
    faults = SaidOfRow(many=True)
    hints = SaidOfRow(many=True)


class BringingSerializer(serializers.ModelSerializer):
    """A file, what was found in it, and what became of it."""

    found = FoundInFileSerializer(read_only=True, allow_null=True)
    may_be_confirmed = serializers.BooleanField(source="is_to_be_confirmed", read_only=True)
    may_be_undone = serializers.SerializerMethodField()

    class Meta:
        model = Bringing
        fields = [
            "id",
            "kind",
            "file_name",
            "sha256",
            "asked_by",
            "asked_at",
            "step",
            "steps",
            "is_waiting",
            "looked_at",
            "found",
            "may_be_confirmed",
            "confirmed_at",
            "kept_at",
            "may_be_undone",
            "undone_at",
            "given_up_at",
            "failed_at",
            "last_error",
        ]
        read_only_fields = fields

    def get_may_be_undone(self, row) -> bool:
        """Say whether it was kept today and stands."""
        return row.undone_at is None and bringing.may_be_undone_on(row, timezone.now())


class SendSerializer(serializers.Serializer):
    """A file and what it holds; separator and encoding of CSV only where they are told wrongly."""

    kind = serializers.ChoiceField(choices=sorted(KINDS))
    file = serializers.FileField(max_length=200)
    separator = serializers.ChoiceField(choices=sorted(SEPARATORS), required=False, default="")
    encoding = serializers.ChoiceField(choices=sorted(ENCODINGS), required=False, default="")


class BringingViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Files that were brought, of the kinds that the person's role may bring."""

    readers = OFFICE
    writers = OFFICE
    parser_classes = [MultiPartParser]
    queryset = Bringing.objects.defer("content")
    serializer_class = BringingSerializer

    def get_queryset(self):
        return super().get_queryset().filter(kind__in=self.kinds())

    def kinds(self) -> list[str]:
        """Return the kinds that the person may bring."""
        role = role_of(self.request.user)
        return [name for name, kind in KINDS.items() if role in kind.roles]

    @extend_schema(
        request={"multipart/form-data": SendSerializer}, responses={201: BringingSerializer}
    )
    def create(self, request):
        """Send a file to be looked at; nothing of it is kept yet."""
        asked = SendSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        told = asked.validated_data
        if told["kind"] not in self.kinds():
            raise PermissionDenied
        file, now = told.pop("file"), timezone.now()
        sent = Sent(name=file.name, content=file.read(), **told)
        row = bringing.ask(sent, by=request.user, language=get_language(), now=now)
        if bringing.is_small(row):
            bringing.run_bringing(row.pk, now=now)
        return self.shown(row, status.HTTP_201_CREATED)

    @extend_schema(responses=KindSerializer(many=True))
    @action(detail=False, methods=["get"], pagination_class=None)
    def blanks(self, request):
        """Return what may be brought, with the columns of each and its files to fill in."""
        return Response([_blank(name) for name in self.kinds()])

    @extend_schema(request=None, responses=BringingSerializer)
    @action(detail=True, methods=["post"])
    def confirm(self, request, pk):
        """Have what was found kept, all of it or nothing; twice does it once."""
        row, now = self.get_object(), timezone.now()
        if bringing.confirm(row, now=now) and bringing.is_small(row):
            bringing.run_bringing(row.pk, now=now)
        return self.shown(row)

    @extend_schema(request=None, responses=BringingSerializer)
    @action(detail=True, methods=["post"])
    def undo(self, request, pk):
        """Take back what a file brought, on the day on which it was kept."""
        row = self.get_object()
        bringing.undo(row, by=request.user, now=timezone.now())
        return self.shown(row)

    @extend_schema(request=None, responses=BringingSerializer)
    @action(detail=True, methods=["post"], url_path="give-up")
    def give_up(self, request, pk):
        """Forget a file that was not kept."""
        row = self.get_object()
        bringing.give_up(row, now=timezone.now())
        return self.shown(row)

    def shown(self, row, code=status.HTTP_200_OK):
        """Answer with a file as it stands now."""
        return Response(self.get_serializer(self.get_queryset().get(pk=row.pk)).data, code)


def _blank(name: str) -> dict:
    ready = KINDS[name]()
    files = {
        ending: settings.ADDRESS + reverse("services:blank", args=[name, ending])
        for ending in ("csv", "xlsx")
    }
    return {"kind": name, "columns": bringing.heads_of(ready), **files}
