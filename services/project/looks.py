"""Writes down each page and paper that an inspector was shown, for the owner to see."""

from django.utils import timezone

from clients.access import Role, role_of
from treatments.models import InspectorLook

LONGEST = 400


class LooksOfInspectors:
    """Keeps every look of an inspector that was answered with something."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        # Only who was asked for is looked at: a page for everybody loads no user.
        user = getattr(request, "_cached_user", None)
        if user is not None and response.status_code < 300 and role_of(user) is Role.INSPECTOR:
            InspectorLook(
                inspector=user, address=request.get_full_path()[:LONGEST], at=timezone.now()
            ).save(force_insert=True)
        return response
