"""Photos, piece by piece: they come after the event that announced them, and never hold it up."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.utils.translation import gettext_lazy as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import status, viewsets
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import BaseParser
from rest_framework.response import Response

from services.field.auth import HEADER, IsPhone, PhoneCookie
from services.field.bodies import PhotoStandingSerializer
from services.field.photos import (
    LARGEST_PIECE,
    DiskFull,
    NoPhoto,
    OutOfPlace,
    add_piece,
    received_of,
)
from services.models import FieldPhoto

PHONE = OpenApiParameter(HEADER, str, OpenApiParameter.HEADER, required=True)
OFFSET = OpenApiParameter(
    "Upload-Offset", int, OpenApiParameter.HEADER, required=True, description="Bytes sent before."
)


class TooLarge(APIException):
    """A piece is larger than a piece may be."""

    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_detail = _("A piece has at most %(n)d bytes.") % {"n": LARGEST_PIECE}
    default_code = "too_large"


class Elsewhere(APIException):
    """The piece does not begin where the last one ended."""

    status_code = status.HTTP_409_CONFLICT
    default_code = "out_of_place"


class NotAPhoto(APIException):
    """What came is no photo that is kept."""

    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY
    default_code = "no_photo"


class NoRoom(APIException):
    """The disk is nearly full: photos wait, events go on."""

    status_code = status.HTTP_503_SERVICE_UNAVAILABLE
    default_detail = _("There is no room for photos just now.")
    default_code = "no_room"
    wait = 3600  # s; told as Retry-After


class Piece(BaseParser):
    """Reads a piece of a file as it is, as long as it is no larger than a piece may be."""

    media_type = "application/octet-stream"

    def parse(self, stream, media_type=None, parser_context=None):
        content = stream.read(LARGEST_PIECE + 1)
        if len(content) > LARGEST_PIECE:
            raise TooLarge
        return content


class PhotoViewSet(viewsets.GenericViewSet):
    """The photos that this phone has announced."""

    authentication_classes = [PhoneCookie]
    permission_classes = [IsPhone]
    parser_classes = [Piece]
    serializer_class = PhotoStandingSerializer
    lookup_value_regex = "[0-9a-f]{64}"
    queryset = FieldPhoto.objects.none()

    def announced(self, pk):
        """Return a photo that this phone has announced; any other is not there."""
        device: Any = self.request.auth  # the stubs know tokens of one kind only
        mine = FieldPhoto.objects.filter(device=device, sha256=pk)
        return get_object_or_404(mine.order_by("pk")[:1])

    def retrieve(self, request, pk):
        """Say how much of a photo has come."""
        return Response(standing(self.announced(pk)))

    @extend_schema(request=OpenApiTypes.BINARY, parameters=[PHONE, OFFSET])
    def partial_update(self, request, pk):
        """Take the next piece of a photo; the last one closes it."""
        photo = self.announced(pk)
        if not isinstance(request.data, bytes) and received_of(photo) < photo.size:
            raise ParseError(_("A piece has at least one byte."))
        try:
            add_piece(photo, offset_of(request), request.data or b"")
        except OutOfPlace as error:
            raise Elsewhere(str(error)) from error
        except NoPhoto as error:
            raise NotAPhoto(str(error)) from error
        except DiskFull as error:
            raise NoRoom from error
        return Response(standing(photo))


def standing(photo):
    """Return how much of a photo has come."""
    return {
        "sha256": photo.sha256,
        "size": photo.size,
        "received": received_of(photo),
        "kept": photo.kept_at is not None,
    }


def offset_of(request) -> int:
    """Return where the sender says that a piece begins."""
    said = request.headers.get("Upload-Offset", "")
    if not said.isascii() or not said.isdigit() or len(said) > 10:
        raise ParseError(_("Say in Upload-Offset how many bytes were sent before."))
    return int(said)
