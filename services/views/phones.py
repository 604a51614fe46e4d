"""The crews' phones as the office sees them: when last heard of, what they hold, taken back."""

from django.conf import settings
from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, Role, allow, has_role
from services import devices
from services.forms.phones import PhoneForm
from services.models import Device
from services.showing.phones import as_qr, in_groups, phones_shown
from services.showing.today import yard_zone

OWNER = frozenset({Role.OWNER})


@require_safe
@allow(OFFICE)
def phones(request):
    """Show the phones: when each was heard of last, and what it has not sent."""
    shown = {
        "phones": phones_shown(timezone.now()),
        "zone": yard_zone(),
        "is_owner": has_role(request.user, OWNER),
    }
    return render(request, "services/phones.html", shown)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
@never_cache
def new_phone(request):
    """Make a code that enrols a phone for a person, and show it, this once."""
    form = PhoneForm(request.POST or None)
    if not form.is_valid():
        status = 422 if form.is_bound else 200
        return render(request, "services/new_phone.html", {"form": form}, status=status)
    device, code = devices.make_code(**form.cleaned_data, by=request.user, now=timezone.now())
    address = settings.ADDRESS + reverse("services:enrol_by_code", args=[code])
    shown = {
        "form": None,
        "device": device,
        "code": in_groups(code),
        "address": address,
        "qr": as_qr(address),
    }
    return render(request, "services/new_phone.html", shown)


@require_POST
@allow(OFFICE)
def revoke_phone(request, device_id):
    """Take a phone back; it opens nothing from now on."""
    device = get_object_or_404(Device, pk=device_id)
    if devices.revoke(device, by=request.user, at=timezone.now()):
        sentence = _("%(phone)s opens nothing any more. What it had not sent stays on it.")
        messages.success(request, sentence % {"phone": device.name})
    return redirect("services:phones")
