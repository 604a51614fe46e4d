"""Where phones send what was done: up to fifty events at a time, each with a reply of its own."""

from django.db import OperationalError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import status, viewsets
from rest_framework.exceptions import APIException, PermissionDenied
from rest_framework.response import Response

from services.devices import heard_of
from services.field.auth import HEADER, IsPhone, PhoneCookie
from services.field.bodies import MOST_EVENTS, EventBatchSerializer, SyncedSerializer
from services.field.epochs import epoch
from services.field.syncing import Busy, standing_of, take_batch
from treatments.chain import head

PHONE = OpenApiParameter(HEADER, str, OpenApiParameter.HEADER, required=True)


class TooMany(APIException):
    """More events than one request takes: the phone sends them in parts."""

    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_detail = _("Send at most %(n)d events at a time.") % {"n": MOST_EVENTS}
    default_code = "too_many"


class TryAgain(APIException):
    """The book could not be written just now."""

    status_code = status.HTTP_503_SERVICE_UNAVAILABLE
    default_detail = _("The book could not be written just now. Send the same again.")
    default_code = "busy"
    wait = 5  # s; told as Retry-After


class SyncViewSet(viewsets.ViewSet):
    """What phones say."""

    authentication_classes = [PhoneCookie]
    permission_classes = [IsPhone]

    @extend_schema(request=EventBatchSerializer, responses=SyncedSerializer, parameters=[PHONE])
    def create(self, request):
        """Take a batch of events; the same events again change nothing."""
        batch = self.read(request)
        if batch["device_id"] != request.auth.pk:
            raise PermissionDenied(_("The batch names another phone."))
        try:
            return Response(self.taken(request.auth, batch))
        except (Busy, OperationalError) as error:
            # What was kept before this is a duplicate when it comes again.
            raise TryAgain from error

    @staticmethod
    def taken(device, batch):
        """Take the events, note how the phone stands, and return how the book stands."""
        now = timezone.now()
        replies = take_batch(device, batch["events"], now=now)
        last, gaps = standing_of(device)
        heard_of(
            device,
            now,
            last_seq=last,
            unsent=batch["unsent"],
            oldest_unsent_at=batch.get("oldest_unsent_at"),
            keeps_storage=batch.get("keeps_storage"),
        )
        newest = head()
        return {
            "server_time": timezone.now(),
            "epoch": epoch(),
            "last_seq": last,
            "gaps": gaps,
            "head": {"size": newest.size, "root": newest.root.hex()} if newest else None,
            "replies": replies,
        }

    @staticmethod
    def read(request):
        """Return the batch; raise TooMany where it must be sent in parts."""
        sent = request.data.get("events") if isinstance(request.data, dict) else None
        if isinstance(sent, list) and len(sent) > MOST_EVENTS:
            raise TooMany
        asked = EventBatchSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        return asked.validated_data
