"""The first address: sends each person to the page they begin the day with."""

from django.contrib.auth import get_user_model
from django.contrib.auth.views import redirect_to_login
from django.shortcuts import redirect
from django.views.decorators.http import require_safe

from clients.access import Role, role_of

BEGINS_WITH: dict[Role | None, str] = {
    Role.TECHNICIAN: "services:day",
    Role.INSPECTOR: "treatments:records",
}


@require_safe
def home(request):
    """Send to the week, the crew's day or the records; in a new book to its beginning."""
    if request.user.is_authenticated:
        return redirect(BEGINS_WITH.get(role_of(request.user), "services:week"))
    if get_user_model().objects.exists():
        return redirect_to_login(request.get_full_path())
    return redirect("services:begin")
