"""The packet: what a phone holds of its crew's stops."""

from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.decorators.gzip import gzip_page
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import status, viewsets
from rest_framework.exceptions import PermissionDenied
from rest_framework.response import Response

from services.devices import heard_of, may_carry
from services.field.auth import IsPhone, PhoneCookie
from services.field.bodies import PacketSerializer
from services.field.epochs import epoch
from services.field.packets import packet_for, remember

IF_NONE_MATCH = OpenApiParameter("If-None-Match", str, OpenApiParameter.HEADER)


class PacketViewSet(viewsets.GenericViewSet):
    """The stops of today and tomorrow, for the phone that asks."""

    authentication_classes = [PhoneCookie]
    permission_classes = [IsPhone]
    serializer_class = PacketSerializer
    pagination_class = None

    @method_decorator(gzip_page)  # a day of forty stops over a weak signal
    @extend_schema(parameters=[IF_NONE_MATCH], responses={200: PacketSerializer, 304: None})
    def list(self, request):
        """Send the packet, or 304 where the phone holds it already."""
        device, now = request.auth, timezone.now()
        if not may_carry(device.person):
            raise PermissionDenied
        packet, visits = packet_for(device.person, now)
        digest = remember(device, packet, visits, now)
        heard_of(device, now)
        headers = {"ETag": f'"{digest}"', "Cache-Control": "private, no-cache"}
        known = request.headers.get("If-None-Match", "").strip().removeprefix("W/")
        if known == headers["ETag"]:
            return Response(status=status.HTTP_304_NOT_MODIFIED, headers=headers)
        told = {
            "made_at": now,
            "digest": digest,
            "epoch": epoch(),
            "device": {
                "id": str(device.pk),
                "name": device.name,
                "person": device.person.get_full_name() or device.person.get_username(),
                "last_seq": device.last_seq,
            },
            "packet": packet,
        }
        return Response(told, headers=headers)
