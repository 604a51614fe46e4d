"""A person's own one-time codes; the owner asks for them, and takes them off who lost the phone."""

from django.contrib import messages
from django.contrib.auth import authenticate, get_user_model, logout
from django.contrib.auth.decorators import login_required
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import Role, allow, has_role
from clients.views import entry
from services import second_factor
from services.forms.second_factor import ConfirmForm, TurnOnForm, WantedForm
from services.project.codes import forget_seed, is_right_code, seed_in
from services.project.errors import locked_out
from services.showing.second_factor import (
    codes_of,
    recovery_codes_shown,
    set_up_shown,
    without_codes,
)
from services.showing.today import yard_zone
from treatments.models import Business

OWNER = frozenset({Role.OWNER})


@require_safe
@login_required
def codes(request):
    """Show whether a person signs in with codes, and what can be done about it."""
    shown = {
        "codes": codes_of(request.user),
        "is_wanted": second_factor.is_wanted_of(request.user),
        "zone": yard_zone(),
        "is_owner": has_role(request.user, OWNER),
    }
    return render(request, "services/codes.html", shown)


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def turn_on(request):
    """Show what a phone is set up with, and turn codes on by a right one and the password."""
    if second_factor.is_on(request.user):
        return redirect("services:codes")
    form, seed = TurnOnForm(request.POST or None), seed_in(request)
    if form.is_valid() and _is_own_password(request, form):
        try:
            made = second_factor.turn_on(
                request.user,
                seed,
                form.cleaned_data["one_time_code"],
                now=timezone.now(),
                keep=request.session.session_key,
            )
        except ValidationError as refusal:
            form.add_refusal(refusal)
        else:
            forget_seed(request)
            return _shown_once(request, made)
    return entry(request, form, "services/turn_codes_on.html", **set_up_shown(request.user, seed))


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def renew(request):
    """Make the recovery codes anew and show them, this once."""
    return _confirmed(request, "services/renew_codes.html", _renewed)


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
@login_required
def turn_off(request):
    """Turn a person's own codes off."""
    return _confirmed(request, "services/turn_codes_off.html", _turned_off)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def take_off(request, user_id):
    """Ask whether another person's codes are to be turned off, and do so."""
    person = get_object_or_404(get_user_model(), pk=user_id, is_active=True)
    if person == request.user:
        return redirect("services:turn_codes_off")
    if request.method == "POST":
        if second_factor.turn_off(person, by=request.user):
            messages.success(request, _("The password alone signs this person in from now on."))
        return redirect("services:people")
    return render(request, "services/take_codes_off.html", {"person": person})


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def wanted(request):
    """Show who of the office signs in without a code, and whether the business asks for one."""
    asked = {"are_wanted": Business.of_this_book().needs_codes}
    form = WantedForm(request.POST if request.method == "POST" else None, initial=asked)
    if form.is_valid():
        try:
            second_factor.want_codes(are_wanted=form.cleaned_data["are_wanted"], by=request.user)
        except ValidationError as refusal:
            form.add_refusal(refusal)
        else:
            messages.success(request, _("This holds from now on."))
            return redirect("services:codes_wanted")
    return entry(request, form, "services/codes_wanted.html", without=without_codes())


def _confirmed(request, template, act):
    """Ask for password and code, then act; who has no codes is sent to where they are turned on."""
    if not second_factor.is_on(request.user):
        return redirect("services:codes")
    form = ConfirmForm(request.POST or None)
    if form.is_valid() and _is_own_password(request, form):
        try:
            if is_right_code(request, request.user, form.typed()):
                return act(request)
        except second_factor.TooManyCodes:
            return locked_out(request)
        form.refuse(second_factor.wrong_code())
    return entry(request, form, template)


def _renewed(request):
    return _shown_once(request, second_factor.renew_recovery_codes(request.user))


def _turned_off(request):
    person, key = request.user, request.session.session_key
    second_factor.turn_off(person, by=person, keep=key)
    if second_factor.is_lacking(person):
        logout(request)
        messages.warning(request, _("Codes are off. Sign in, and turn them on again."))
        return redirect("login")
    messages.success(request, _("Codes are off: the password alone signs you in from now on."))
    return redirect("services:codes")


def _shown_once(request, made):
    return render(request, "services/recovery_codes.html", recovery_codes_shown(made))


def _is_own_password(request, form):
    """Say whether the password that was typed is the person's; wrong ones are counted."""
    name, password = request.user.get_username(), form.cleaned_data["password"]
    if authenticate(request, username=name, password=password) == request.user:
        return True
    form.add_error("password", _("This is not your password."))
    return False
