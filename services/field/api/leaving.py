"""Where a phone signs out: it opens nothing from then on."""

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import status, viewsets
from rest_framework.response import Response

from services.devices import revoke
from services.field.auth import COOKIE, HEADER, IsPhone, PhoneCookie

PHONE = OpenApiParameter(HEADER, str, OpenApiParameter.HEADER, required=True)


class LeavingViewSet(viewsets.ViewSet):
    """Ends the enrolment of the phone that asks."""

    authentication_classes = [PhoneCookie]
    permission_classes = [IsPhone]

    @extend_schema(request=None, responses={204: None}, parameters=[PHONE])
    def create(self, request):
        """Take the phone back, as its own person wishes, and its cookie with it."""
        revoke(request.auth, by=request.auth.person, at=timezone.now())
        answer = Response(status=status.HTTP_204_NO_CONTENT)
        answer.delete_cookie(COOKIE, path="/", samesite="Strict")
        return answer
