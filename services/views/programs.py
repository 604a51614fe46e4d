"""Other programs: keys by which they sign in to the API, and addresses that are called."""

from django.conf import settings
from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import EVERYONE, Role, allow, has_role
from clients.views import entry
from services import program_keys
from services.forms.programs import HookForm, KeyForm
from services.models import Hook, ProgramKey
from services.models.programs import SCOPES
from services.showing.examples import EXAMPLES
from services.telling import hooks
from treatments.clocks import home_zone

OWNER = frozenset({Role.OWNER})


@require_safe
@allow(OWNER)
def programs(request):
    """Show which programs sign in and which are called."""
    return _shown(request)


@require_safe
@allow(EVERYONE)
def api_help(request):
    """Show how a program speaks with the book, by examples."""
    context = {
        "examples": EXAMPLES,
        "address": settings.ADDRESS,
        "scopes": SCOPES,
        "is_owner": has_role(request.user, OWNER),
    }
    return render(request, "services/api_help.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
@never_cache
def new_key(request):
    """Make a key and show it, this once."""
    form = KeyForm(request.POST or None)
    if form.is_valid():
        key = program_keys.make_key(**form.cleaned_data, by=request.user, now=timezone.now())
        return _shown(request, key=key)
    return entry(request, form, "services/new_key.html")


@require_POST
@allow(OWNER)
def revoke_key(request, key_id):
    """Take a key back."""
    row = get_object_or_404(ProgramKey, pk=key_id)
    if program_keys.revoke_key(row, at=timezone.now()):
        messages.success(request, _("“%(name)s” signs in no more.") % {"name": row.name})
    return redirect("services:programs")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
@never_cache
def new_hook(request):
    """Keep an address that is called, and show its secret."""
    form = HookForm(request.POST or None)
    if form.is_valid():
        hook = hooks.make_hook(**form.cleaned_data, by=request.user, now=timezone.now())
        return _shown(request, secret=hooks.secret_of(hook))
    return entry(request, form, "services/new_hook.html", servers=settings.HOOKS)


@require_POST
@allow(OWNER)
def end_hook(request, hook_id):
    """Call an address no more."""
    hook = get_object_or_404(Hook, pk=hook_id)
    if hooks.end_hook(hook, at=timezone.now()):
        messages.success(request, _("“%(name)s” is called no more.") % {"name": hook.name})
    return redirect("services:programs")


def _shown(request, **just_made):
    now = timezone.now()
    keys = ProgramKey.objects.select_related("person")
    context = {
        "keys": [(key, key.is_open_at(now)) for key in keys],
        "hooks": Hook.objects.all(),
        **just_made,
    }
    with timezone.override(home_zone()):
        return render(request, "services/programs.html", context)
