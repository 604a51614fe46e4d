"""Who may do what: the five roles, and the decorator that guards a page by them."""

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.db.models import TextChoices
from django.utils.translation import gettext_lazy as _


class Role(TextChoices):
    """What a person is in the business.  Each role is a Django group of the same name."""

    OWNER = "owner", _("owner")
    OFFICE = "office", _("office")
    APPLICATOR = "applicator", _("applicator")
    TECHNICIAN = "technician", _("technician")
    INSPECTOR = "inspector", _("inspector")


EVERYONE = frozenset(Role)
STAFF = frozenset({Role.OWNER, Role.OFFICE, Role.APPLICATOR})
CREW = STAFF | {Role.TECHNICIAN}
OFFICE = frozenset({Role.OWNER, Role.OFFICE})
CERTIFIED = frozenset({Role.OWNER, Role.APPLICATOR})
READERS = STAFF | {Role.INSPECTOR}  # an inspector as far as a grant goes


def role_of(user) -> Role | None:
    """Return the role of a signed-in person, or None for a stranger.

    The answer is kept on the user for the length of a request.
    """
    if not user.is_authenticated or not user.is_active:
        return None
    if not hasattr(user, "_duskbook_role"):
        names = user.groups.filter(name__in=Role.values).values_list("name", flat=True)
        user._duskbook_role = Role(names[0]) if names else None
    return user._duskbook_role


def has_role(user, roles: frozenset[Role]) -> bool:
    """Say whether a person has one of the roles."""
    return role_of(user) in roles


def allow(roles: frozenset[Role]) -> Callable:
    """Guard a page: a stranger is asked to sign in, any other role is refused with 403."""

    def guard(view):
        @wraps(view)
        @login_required
        def guarded(request, *args, **kwargs):
            if not has_role(request.user, roles):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        # A function may carry attributes, which its type cannot tell.
        guarded.allowed_roles = roles  # type: ignore[attr-defined]
        return guarded

    return guard


def no_properties(user):
    """Return no property: what a technician reaches until the schedule is there."""
    return []


class Reach:
    """Which properties a person reaches through a crew: known only above, so told from above.

    `services` replaces both when it starts.

    properties_of: what a technician may see
    entered_today_by: where the person's crew goes in today, and so needs the code of the gate
    """

    properties_of: Callable = staticmethod(no_properties)
    entered_today_by: Callable = staticmethod(no_properties)


def reachable_properties(user):
    """Return the ids of the properties that a technician may see at this moment."""
    return Reach.properties_of(user) if role_of(user) is Role.TECHNICIAN else []


def shows_gate_code(user, property_id) -> bool:
    """Say whether a person is shown the code of a gate: the office, and the crew on its day.

    The properties are kept on the user for the length of a request.
    """
    if has_role(user, OFFICE):
        return True
    if not hasattr(user, "_duskbook_gates"):
        user._duskbook_gates = set(Reach.entered_today_by(user)) if has_role(user, CREW) else set()
    return property_id in user._duskbook_gates
