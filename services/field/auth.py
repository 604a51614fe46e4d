"""Who a phone speaks for: a cookie of its own, apart from the sign-ins of the office."""

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import PermissionDenied
from rest_framework.permissions import SAFE_METHODS, BasePermission

from services.devices import device_of
from services.models import Device

COOKIE = "__Host-phone" if settings.HTTPS else "phone"
HEADER = "X-Phone"  # no page of another site can set it without asking first
LONGEST = 400 * 24 * 3600  # s; browsers keep no cookie longer, and the book decides anyhow


class PhoneCookie(BaseAuthentication):
    """Knows a phone by its cookie; what changes something must name the phone as well."""

    def authenticate(self, request):
        device = device_of(request.COOKIES.get(COOKIE, ""), timezone.now())
        if device is None:
            return None
        if request.method not in SAFE_METHODS and request.headers.get(HEADER) != str(device.pk):
            raise PermissionDenied(_("The request does not name its phone."))
        return device.person, device

    def authenticate_header(self, request):
        """Return what makes a refusal a 401: the phone keeps what it has and is enrolled anew."""
        return 'Phone realm="field"'


class IsPhone(BasePermission):
    """Lets enrolled phones in, and nobody else."""

    def has_permission(self, request, view):
        return isinstance(request.auth, Device)


class PhoneCookieInSchema(OpenApiAuthenticationExtension):
    """Tells the API's description of the cookie."""

    target_class = PhoneCookie
    name = "phone"

    def get_security_definition(self, auto_schema):
        return {"type": "apiKey", "in": "cookie", "name": COOKIE}


def give_token(answer, token):
    """Return an answer that hands a phone its token, where no script can read it."""
    answer.set_cookie(
        COOKIE,
        token,
        max_age=LONGEST,
        path="/",
        secure=settings.HTTPS,
        httponly=True,
        samesite="Strict",
    )
    return answer
