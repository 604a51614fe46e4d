"""What was typed into a form that could not be taken, offered again instead of lost.

The person was signed out meanwhile, or signed in anew while the page stood open. Files cannot be
offered again, and a form with a password or a code is not.
"""

from http import HTTPStatus

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import redirect_to_login
from django.core import signing
from django.shortcuts import render

SALT = "services.project.typed"
SECRET = ("password", "one_time_code", "recovery_code")
OF_THE_PAGE = ("csrfmiddlewaretoken", "next", "typed")


class TypedAgain:
    """Answers a stranger's form with a page to sign in on, which keeps what the form held."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        answer = self.get_response(request)
        if request.method == "POST" and _asks_to_sign_in(request, answer):
            return offered(request) or answer
        return answer


def _asks_to_sign_in(request, answer):
    if answer.status_code != HTTPStatus.FOUND:
        return False
    return answer["Location"] == redirect_to_login(request.get_full_path()).url


def came_from_here(request):
    """Say whether a page of this book sent the form, and not one from elsewhere [RFC 6454]."""
    return request.headers.get("Origin") == request.build_absolute_uri("/").rstrip("/")


def offered(request):
    """Return a page that holds what a form sent, or None where that is secret."""
    fields = [
        (name, value)
        for name, values in request.POST.lists()
        for value in values
        if name not in OF_THE_PAGE
    ]
    if any(word in name for word in SECRET for name, _value in fields):
        return None
    held = {"to": request.get_full_path(), "fields": fields, "files": bool(request.FILES)}
    if request.user.is_authenticated:
        return send_again(request, held)
    typed = signing.dumps(held, salt=SALT, compress=True)
    context = {"form": AuthenticationForm(request), "next": held["to"], "typed": typed}
    return render(request, "registration/login.html", context, status=403)


def held_in(typed):
    """Return what a page held, or None where a text is none of ours."""
    try:
        return signing.loads(typed, salt=SALT)
    except signing.BadSignature:
        return None


def send_again(request, held):
    """Return the page whose one button sends a form once more."""
    return render(request, "send_again.html", held)
