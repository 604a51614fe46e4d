"""Signing in: password first, then a code where one is asked; the pages turn to one's language."""

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.views import LoginView, redirect_to_login
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from services import second_factor
from services.forms.second_factor import CodeForm, FirstCodeForm
from services.models import Technician
from services.project.codes import forget_seed, is_right_code, seed_in
from services.project.errors import locked_out
from services.project.half_way import (
    OF_SETTING_UP,
    half_way_of,
    leave_half_way,
    wait_half_way,
)
from services.project.typed import held_in, send_again
from services.showing.second_factor import recovery_codes_shown, set_up_shown

CODE, FIRST_CODE = "sign_in_code", "first_code"


class SignIn(LoginView):
    """Signs a person in and sets the pages to the language kept beside the sign-in.

    What was typed on a page whose person was signed out meanwhile is offered once more.
    """

    redirect_authenticated_user = False

    def form_valid(self, form):
        person, typed = form.get_user(), self.request.POST.get("typed", "")
        if asked := asked_after_password(person):
            wait_half_way(self.request, person, to=self.get_success_url(), typed=typed)
            return with_language_of(person, redirect(asked))
        answer = super().form_valid(form)
        if held := held_in(typed):
            answer = send_again(self.request, held)
        return with_language_of(person, answer)

    def get_context_data(self, **kwargs):
        return super().get_context_data(typed=self.request.POST.get("typed", ""), **kwargs)


def asked_after_password(person):
    """Return the name of the page that asks for more than the password, or None."""
    if second_factor.is_on(person):
        return CODE
    return FIRST_CODE if second_factor.is_lacking(person) else None


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def sign_in_code(request):
    """Ask who gave the password for a code, and sign the person in by a right one."""
    waiting = half_way_of(request)
    if waiting is None or not second_factor.is_on(waiting.person):
        return begin_again(request)
    form = CodeForm(request.POST or None)
    if form.is_valid():
        try:
            is_right = is_right_code(request, waiting.person, form.typed())
        except second_factor.TooManyCodes:
            return locked_out(request)
        if is_right:
            return arrived(request, waiting)
        form.refuse(second_factor.wrong_code())
    status = 422 if form.is_bound else 200
    return render(request, "registration/code.html", {"form": form}, status=status)


@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def first_code(request):
    """Have who gave the password turn codes on, because the business asks for them."""
    waiting = half_way_of(request, OF_SETTING_UP)
    if waiting is None or second_factor.is_on(waiting.person):
        return begin_again(request)
    form, seed = FirstCodeForm(request.POST or None), seed_in(request)
    if form.is_valid():
        code = form.cleaned_data["one_time_code"]
        try:
            codes = second_factor.turn_on(waiting.person, seed, code, now=timezone.now())
        except ValidationError as refusal:
            form.add_refusal(refusal)
        else:
            forget_seed(request)
            return arrived(request, waiting, codes)
    shown = set_up_shown(waiting.person, seed) | {"form": form}
    status = 422 if form.is_bound else 200
    return render(request, "registration/first_code.html", shown, status=status)


def begin_again(request):
    """Ask for the password once more: it was given too long ago, for another step, or never."""
    to = leave_half_way(request)
    if to is None:
        return redirect_to_login("/")
    messages.warning(
        request, _("That took too long, or something changed meanwhile. Sign in once more.")
    )
    return redirect_to_login(to)


def arrived(request, waiting, recovery_codes=None):
    """Sign in who was half way, under another key of the session, and go where was wanted."""
    leave_half_way(request)
    login(request, waiting.person, backend=waiting.backend)
    held = held_in(waiting.typed)
    if recovery_codes:
        shown = recovery_codes_shown(recovery_codes) | {"to": waiting.to, "held": held}
        answer = render(request, "services/recovery_codes.html", shown)
    elif held:
        answer = send_again(request, held)
    else:
        answer = redirect(waiting.to)
    return with_language_of(waiting.person, answer)


def with_language_of(user, answer):
    """Return an answer that sets the language in which a person reads the pages."""
    language = Technician.objects.filter(user=user).values_list("language", flat=True).first()
    if language and translation.check_for_language(language):
        answer.set_cookie(
            settings.LANGUAGE_COOKIE_NAME,
            language,
            max_age=settings.LANGUAGE_COOKIE_AGE,
            path=settings.LANGUAGE_COOKIE_PATH,
            secure=settings.LANGUAGE_COOKIE_SECURE,
            httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
            samesite=settings.LANGUAGE_COOKIE_SAMESITE,
        )
    return answer
