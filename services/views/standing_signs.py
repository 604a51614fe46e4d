"""Signs that stand at properties, and that somebody took one down."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clients.access import CREW, STAFF, allow, has_role
from services import pictures
from services.models import FieldPhoto
from services.pictures import photos_of_records
from treatments import posting
from treatments.models import ApplicationRecord


@dataclass(frozen=True, slots=True)
class SignShown:
    """A sign that stands, with the photos that were taken at its visit."""

    sign: posting.StandingSign
    now: datetime
    photos: list[FieldPhoto]

    def is_over(self) -> bool:
        """Say whether it may come down."""
        return self.sign.may_come_down_at(self.now)


@require_safe
@allow(CREW)
def signs(request):
    """Show which signs stand, when each may come down, and on whose list that is."""
    now = timezone.now()
    standing = posting.signs_standing(ApplicationRecord.objects.for_user(request.user), now)
    photos = photos_of_records(sign.record.number for sign in standing)
    rows = [SignShown(sign, now, photos.get(sign.record.number, [])) for sign in standing]
    context = {
        "ours": [row for row in rows if not row.sign.is_clients()],
        "clients": [row for row in rows if row.sign.is_clients()],
        "is_staff": has_role(request.user, STAFF),
    }
    return render(request, "services/signs.html", context)


@require_POST
@allow(STAFF)
def mark_photo(request, photo_id):
    """Keep whether a photo shows the sign that stands."""
    photo = get_object_or_404(FieldPhoto, pk=photo_id)
    shows_sign = request.POST.get("shows_sign") == "yes"
    if pictures.mark_photo(photo, shows_sign=shows_sign, by=request.user):
        said = _("It is the photo of the sign.") if shows_sign else _("It is a photo of the work.")
        messages.success(request, said)
    return redirect("services:signs")


@require_POST
@allow(CREW)
def take_down(request, number):
    """Keep that the sign of a record was taken down just now."""
    records = ApplicationRecord.objects.for_user(request.user).select_related("planting__property")
    record = get_object_or_404(records, number=number)
    try:
        posting.take_down(record, by=request.user, at=timezone.now())
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, _("It is written down that the sign came down."))
    return redirect("services:signs")
