"""Who may read and write what through the API, by role."""

from rest_framework.permissions import SAFE_METHODS, BasePermission

from clients.access import STAFF, has_role


class ByRole(BasePermission):
    """Lets the roles in the view's `readers` read and those in its `writers` write."""

    def has_permission(self, request, view):
        safe = request.method in SAFE_METHODS
        roles = getattr(view, "readers", STAFF) if safe else getattr(view, "writers", STAFF)
        return has_role(request.user, roles)
