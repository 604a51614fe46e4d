"""Signs that stand at properties, and the designs that the owner compared with the code."""

from base64 import b64decode
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS
from django.core.files.base import ContentFile
from django.http import Http404
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.response import Response
from rest_framework.settings import api_settings

from clients.access import CREW, Role
from clients.permissions import ByRole
from services.forms.own_signs import (
    BACK_ROWS,
    COLORS,
    INCHES,
    NONE,
    PLACES,
    POINTS,
    ROWS,
    SYMBOLS,
    OwnSignForm,
)
from treatments import posting
from treatments.api.keeping import ByRoleViewSet
from treatments.models import ApplicationRecord, OwnSign
from treatments.rules.records import SignDesign, design_of, posting_for, spacings_of
from treatments.signing import confirm_sign, keep_own_sign

OWNER = frozenset({Role.OWNER})
SIDES = {"line_": "lines", "back_": "back"}
PLACE = [OpenApiParameter("jurisdiction", str, OpenApiParameter.PATH)]


class SignSerializer(serializers.Serializer):
    """A sign that stands, by the record it belongs to; `down_at` is null where it is not known."""

    record = serializers.IntegerField(source="record.number")
    property = serializers.IntegerField(source="place.pk")
    posted_at = serializers.DateTimeField()
    down_at = serializers.DateTimeField(allow_null=True)
    is_clients = serializers.BooleanField(help_text="Whether the client takes it down.")


class TakenDownSerializer(serializers.Serializer):
    """Whether it was not known yet that a sign came down."""

    is_new = serializers.BooleanField()


class SignViewSet(ByRoleViewSet):
    """Signs that stand, by the number of their record."""

    readers = CREW
    writers = CREW
    lookup_field = "number"
    queryset = ApplicationRecord.objects.select_related("planting__property")
    serializer_class = SignSerializer
    pagination_class = None

    def list(self, request):
        """Return which signs stand, the first due first."""
        standing = posting.signs_standing(self.get_queryset(), timezone.now())
        return Response(SignSerializer(standing, many=True).data)

    @extend_schema(request=None, responses=TakenDownSerializer)
    @action(detail=True, methods=["post"])
    def down(self, request, number):
        """Keep that the sign of a record was taken down just now; twice does it once."""
        is_new = posting.take_down(self.get_object(), by=request.user, at=timezone.now())
        return Response({"is_new": is_new})


class SignDesignSerializer(serializers.Serializer):
    """A design of a sign, and when it was compared with the code."""

    jurisdiction = serializers.CharField()
    confirmed_at = serializers.DateTimeField()


class WhichSignSerializer(serializers.Serializer):
    """Which sign of the place: without `apart_ft` the large one."""

    apart_ft = serializers.IntegerField(
        required=False, help_text="Of a smaller sign for workers: 50 or 25."
    )


class SignLineSerializer(serializers.Serializer):
    """A line of words on a sign, as it stands in the code."""

    words = serializers.CharField(
        max_length=120, help_text=f"Filled in by the book: {' '.join(PLACES)}."
    )
    size = serializers.DecimalField(
        max_digits=6, decimal_places=3, min_value=Decimal("0.1"), max_value=Decimal(300)
    )
    counted_in = serializers.ChoiceField(
        choices=[POINTS, INCHES],
        default=POINTS,
        help_text="The size of the type in points, or the smallest letter in inches.",
    )


class OwnSignSerializer(WhichSignSerializer):
    """A sign as the owner took it from the code; colors are those of the page."""

    width_in = serializers.DecimalField(max_digits=5, decimal_places=2)
    height_in = serializers.DecimalField(max_digits=5, decimal_places=2)
    background = serializers.ChoiceField(choices=list(COLORS))
    lettering = serializers.ChoiceField(choices=list(COLORS))
    lines = serializers.ListField(
        child=SignLineSerializer(), max_length=ROWS, help_text="From top to bottom."
    )
    back = serializers.ListField(child=SignLineSerializer(), max_length=BACK_ROWS, required=False)
    symbol = serializers.ChoiceField(choices=[name for name, _words in SYMBOLS], default=NONE)
    symbol_in = serializers.DecimalField(
        max_digits=5, decimal_places=2, required=False, help_text="Its width."
    )
    symbol_after = serializers.IntegerField(
        min_value=0, max_value=ROWS, required=False, help_text="Below which line it stands."
    )
    drawing = serializers.CharField(
        required=False, write_only=True, help_text="A PNG or JPEG in base64, at most 1 MB."
    )
    citation = serializers.CharField(max_length=200)
    compared_on = serializers.DateField()

    def validate_drawing(self, drawing: str) -> bytes:
        """Return the picture that was sent in base64."""
        try:
            return b64decode(drawing, validate=True)
        except ValueError as error:
            raise serializers.ValidationError(_("This is no base64.")) from error

    def create(self, validated_data):
        """Keep it by the form of the page, so that both refuse the same."""
        drawing = validated_data.pop("drawing", None)
        files = {"drawing": ContentFile(drawing, "drawing")} if drawing is not None else {}
        form = OwnSignForm(typed_from_lines(validated_data), files, design=self.context["design"])
        if not form.is_valid():
            raise serializers.ValidationError(refused(form))
        by = self.context["request"].user
        return keep_own_sign(design=form.design, told=form.told(), by=by, at=timezone.now())


class KeptSignSerializer(serializers.ModelSerializer):
    """An own sign as it was kept, its lines and symbol from top to bottom."""

    class Meta:
        model = OwnSign
        fields = [
            "id",
            "jurisdiction",
            "width_in",
            "height_in",
            "background",
            "lettering",
            "parts",
            "back",
            "citation",
            "compared_on",
            "entered_at",
        ]
        read_only_fields = fields


class SignDesignViewSet(viewsets.ViewSet):
    """Designs of signs, by the code of the place."""

    permission_classes = [ByRole]
    readers = OWNER
    writers = OWNER
    lookup_field = "jurisdiction"

    @extend_schema(parameters=PLACE, request=WhichSignSerializer, responses=SignDesignSerializer)
    @action(detail=True, methods=["post"])
    def confirm(self, request, jurisdiction):
        """Keep that the owner compared the sign of a place with the code; twice keeps it once."""
        design = design_or_404(jurisdiction, request.data)
        if not design.can_be_printed():
            raise Http404
        kept = confirm_sign(design=design, by=request.user, at=timezone.now())
        return Response({"jurisdiction": jurisdiction, "confirmed_at": kept.confirmed_at})

    @extend_schema(parameters=PLACE, request=OwnSignSerializer, responses={201: KeptSignSerializer})
    @action(detail=True, methods=["post"])
    def own(self, request, jurisdiction):
        """Keep a sign as the owner took it from the code, in place of what the book's table has."""
        design = design_or_404(jurisdiction, request.data)
        told = OwnSignSerializer(data=request.data, context={"request": request, "design": design})
        told.is_valid(raise_exception=True)
        return Response(KeptSignSerializer(told.save()).data, status.HTTP_201_CREATED)


def design_or_404(jurisdiction: str, asked: Mapping[str, Any]) -> SignDesign:
    """Return the sign of the book's table that is asked for, or answer that there is none."""
    told = WhichSignSerializer(data=asked)
    told.is_valid(raise_exception=True)
    apart_ft = told.validated_data.get("apart_ft")
    posting = posting_for(jurisdiction)
    if posting is None or apart_ft not in (None, *spacings_of(posting)):
        raise Http404
    return design_of(posting, apart_ft)


def typed_from_lines(told: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was sent by the names of the form, in which each line has three fields."""
    typed = {name: value for name, value in told.items() if name not in ("lines", "back")}
    for side, lines in (("line", told["lines"]), ("back", told.get("back", []))):
        for number, line in enumerate(lines, start=1):
            typed |= {
                f"{side}_{number}": line["words"],
                f"{side}_{number}_size": line["size"],
                f"{side}_{number}_in": line["counted_in"],
            }
    return typed


def refused(form: OwnSignForm) -> dict[str, list[str]]:
    """Return the sentences of the form by what was sent; those of a line stand at its side."""
    found: dict[str, list[str]] = {}
    for name, sentences in form.errors.items():
        side = next((to for of, to in SIDES.items() if name.startswith(of)), name)
        key = api_settings.NON_FIELD_ERRORS_KEY if side == NON_FIELD_ERRORS else side
        found.setdefault(key, []).extend(map(str, sentences))
    return found
