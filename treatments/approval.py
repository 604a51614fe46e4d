"""Who agrees when the office amends a record: a certified applicator, named in the reason."""

from django.utils.translation import gettext as _

from clients.access import Role, role_of
from treatments.models import Applicator


def needs_approval(user) -> bool:
    """Say whether a person names an applicator who agrees to an amendment."""
    return role_of(user) is Role.OFFICE


def certified_applicators():
    """Return the applicators who can agree: those who hold a certificate."""
    return Applicator.objects.filter(certificates__isnull=False).distinct()


def approved_reason(reason: str, approver: Applicator | None) -> str:
    """Return the reason of an amendment with the name of who agreed to it."""
    if approver is None:
        return reason
    return _("%(reason)s (Approved by %(name)s.)") % {"reason": reason, "name": approver}
