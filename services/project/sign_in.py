"""Signing in: the pages turn to the language of the person."""

from django.conf import settings
from django.contrib.auth.views import LoginView
from django.utils import translation

from services.models import Technician
from services.project.typed import held_in, send_again


class SignIn(LoginView):
    """Signs a person in and sets the pages to the language kept beside the sign-in.

    What was typed on a page whose person was signed out meanwhile is offered once more.
    """

    redirect_authenticated_user = False

    def form_valid(self, form):
        answer = super().form_valid(form)
        held = held_in(self.request.POST.get("typed", ""))
        if held:
            answer = send_again(self.request, held)
        return with_language_of(form.get_user(), answer)

    def get_context_data(self, **kwargs):
        return super().get_context_data(typed=self.request.POST.get("typed", ""), **kwargs)


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
