"""Pages of rotations: the list, and one with what the rules say of its weeks."""

from datetime import date

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clients.access import CERTIFIED, OFFICE, STAFF, allow, has_role
from clients.models import PlantGroup
from clients.sorting import Order
from treatments.certified import is_certified
from treatments.checking import check_course
from treatments.clocks import home_day, home_zone
from treatments.composing import approve_rotation, is_in_use
from treatments.models import Rotation
from treatments.rules.rotation_checks import by_week
from treatments.views.turns import mode_of, turns_of

ROTATIONS_BY = {"name": "name", "pest": "pest__common_name", "composed": "composed_at"}
WITH_WEEKS = [
    "weeks__product__contents__ingredient",
    "weeks__adjuvant",
    "accepted_warnings__accepted_by",
]


@require_safe
@allow(STAFF)
def rotations(request):
    """Show the rotations of the book, those no longer offered at the end."""
    found = Rotation.objects.select_related("pest", "composed_by")
    found = found.prefetch_related("weeks__product__contents__ingredient")
    order = Order(request.GET, ROTATIONS_BY, usual="name")
    # The sort is stable: those no longer offered stand at the end, each part in its order.
    listed = sorted(order.sorted(found), key=lambda each: each.retired)
    context = {
        "rows": [(each, site_of(each), modes_of(each)) for each in listed],
        "order": order,
        "may_compose": True,
    }
    with timezone.override(home_zone()):
        return render(request, "treatments/rotations.html", context)


def site_of(rotation):
    """Return the site of a rotation as labels name it, in the language of the page."""
    return dict(PlantGroup.choices).get(rotation.plant_group, rotation.plant_group)


def modes_of(rotation):
    """Return the groups of a rotation's weeks in their order; a week without a spray is a dash."""
    return [mode_of(week.product)[1] if week.product else "–" for week in rotation.weeks.all()]


@require_safe
@allow(STAFF)
def rotation(request, rotation_id):
    """Show a rotation week by week; ?from= and the courses give its weeks their dates."""
    found = Rotation.objects.select_related("pest", "composed_by", "approved_by")
    rotation = get_object_or_404(
        found.prefetch_related(*WITH_WEEKS, "courses__property"), pk=rotation_id
    )
    first_day, is_dated = first_day_of(request)
    today = home_day()
    findings = check_course(rotation, [], first_day, today)
    context = {
        "rotation": rotation,
        "site": site_of(rotation),
        "weeks": turns_of(rotation.weeks.all(), first_day, findings, dated=is_dated),
        "findings": by_week(findings).get(None, []),
        "courses": rotation.courses.all(),
        "first_day": first_day if is_dated else None,
        "meant_for": [key for key in request.GET.getlist("planting") if key.isdecimal()],
        "is_in_use": is_in_use(rotation),
        "may_compose": True,
        "is_office": has_role(request.user, OFFICE),
        "may_approve": rotation.is_draft and is_certified(request.user),
    }
    with timezone.override(home_zone()):
        return render(request, "treatments/rotation.html", context)


@require_POST
@allow(CERTIFIED)
def approve(request, rotation_id):
    """Approve a draft, so that courses may go by it."""
    rotation = get_object_or_404(Rotation, pk=rotation_id)
    try:
        approve_rotation(rotation, by=request.user, at=timezone.now())
    except ValidationError as refused:
        messages.error(request, refused.messages[0])
    else:
        messages.success(request, _("The rotation is approved; courses may go by it."))
    return redirect("treatments:rotation", rotation_id)


def first_day_of(request) -> tuple[date, bool]:
    """Return the first day that was asked about, or today and that none was."""
    try:
        asked = parse_date(request.GET.get("from", ""))
    except ValueError:
        asked = None
    return (asked, True) if asked else (home_day(), False)
