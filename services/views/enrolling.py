"""The phone's own pages: the code that enrols it, and its page of the field."""

from functools import wraps

from django import forms
from django.core.cache import cache
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_safe

from services.devices import CodeUnusable, enrol, waiting_for
from services.field.auth import give_token
from services.field.packets import language_of
from services.project.errors import tell
from services.project.proxies import sender_of
from services.project.sign_in import with_language_of

private = cache_control(private=True, no_store=True)
MOST_TRIES = 30  # a minute and address


class CodeForm(forms.Form):
    """The code that enrols a phone, as it is typed."""

    code = forms.CharField(
        label=gettext_lazy("code"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "on"}),
        help_text=gettext_lazy("Twelve letters and digits; gaps do not matter."),
    )


def not_too_often(view):
    """Count the codes that an address tries in this minute, and refuse too many."""

    @wraps(view)
    def guarded(request, *args, **kwargs):
        key = f"phone-code-{sender_of(request)}-{timezone.now():%H%M}"
        cache.add(key, 0, 120)
        if cache.incr(key) <= MOST_TRIES:
            return view(request, *args, **kwargs)
        answer = tell(request, 429, _("That was too often."), _("Wait a minute, then try again."))
        answer["Retry-After"] = "60"
        return answer

    return guarded


@require_safe
@not_too_often
@private
def offer(request, code):
    """Ask whether this phone is to be enrolled; opening the address changes nothing."""
    try:
        device = waiting_for(code, timezone.now())
    except CodeUnusable:
        return unusable(request, CodeForm())
    shown = {"form": CodeForm(initial={"code": code}), "device": device}
    with translation.override(language_of(device.person) or translation.get_language()):
        return render(request, "services/field/enrol.html", shown)


@require_http_methods(["GET", "HEAD", "POST"])
@not_too_often
@private
def enrol_phone(request):
    """Enrol this phone by the code that was typed or brought by the QR code."""
    form = CodeForm(request.POST or None)
    if not form.is_valid():
        return render(request, "services/field/enrol.html", {"form": form, "device": None})
    try:
        device, token = enrol(form.cleaned_data["code"], now=timezone.now())
    except CodeUnusable:
        return unusable(request, form)
    return give_token(with_language_of(device.person, redirect("services:field")), token)


def unusable(request, form):
    """Answer for a code that enrols nothing: unknown, used or too old, nobody is told which."""
    shown = {"form": form, "device": None, "is_unusable": True}
    return render(request, "services/field/enrol.html", shown, status=404)
