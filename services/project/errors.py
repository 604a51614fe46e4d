"""What people and programs are told when something cannot be done.

The API answers with problem documents (RFC 9457), pages with a sentence.
"""

from http import HTTPStatus

from django.conf import settings
from django.core.exceptions import NON_FIELD_ERRORS, RequestDataTooBig
from django.core.exceptions import ValidationError as RuleBroken
from django.db.models import ProtectedError
from django.http import HttpResponseNotAllowed, HttpResponseServerError, JsonResponse
from django.shortcuts import render
from django.template import loader
from django.utils.translation import gettext as _
from rest_framework import status
from rest_framework.exceptions import APIException, ValidationError
from rest_framework.settings import api_settings
from rest_framework.views import exception_handler

from services.project.typed import came_from_here, offered

PROBLEM = "application/problem+json"


class TooLarge(APIException):
    """The body of a request is larger than the API takes."""

    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_code = "too_large"


class StillNeeded(APIException):
    """Something else points at the thing that was to go."""

    status_code = status.HTTP_409_CONFLICT
    default_code = "still_needed"


def problem(error, context):
    """Return the problem document for an error in the API, or None for one we did not foresee."""
    answer = exception_handler(as_api_error(error), context)
    if answer is not None:
        answer.data = problem_of(answer.status_code, answer.data)
        answer.content_type = PROBLEM
    return answer


def as_api_error(error):
    """Return Django's own refusals as the API's, and any other error as it is."""
    if isinstance(error, RuleBroken):
        return ValidationError(_broken_rules(error))
    if isinstance(error, RequestDataTooBig):
        return TooLarge(_("The request is larger than %(n)d bytes.") % {"n": _largest()})
    if isinstance(error, ProtectedError):
        return StillNeeded(_("Other entries still point at this one."))
    return error


def _largest():
    return settings.DATA_UPLOAD_MAX_MEMORY_SIZE


def _broken_rules(error):
    if not hasattr(error, "error_dict"):
        return {api_settings.NON_FIELD_ERRORS_KEY: error.messages}
    return {
        api_settings.NON_FIELD_ERRORS_KEY if field == NON_FIELD_ERRORS else field: sentences
        for field, sentences in error.message_dict.items()
    }


def problem_of(code, data):
    """Return the members of a problem document; `errors` gives the sentences by field."""
    document = {"type": "about:blank", "title": HTTPStatus(code).phrase, "status": code}
    if isinstance(data, dict) and set(data) == {"detail"}:
        return {**document, "detail": data["detail"]}
    errors = data if isinstance(data, dict) else {api_settings.NON_FIELD_ERRORS_KEY: data}
    return {**document, "detail": _("Some of it cannot be accepted."), "errors": errors}


def tell(request, code, sentence, remedy=""):
    """Answer with a page that says what is the matter, or with a problem to a program."""
    if request.path.startswith("/api/"):
        document = problem_of(code, {"detail": sentence})
        return JsonResponse(document, status=code, content_type=PROBLEM)
    context = {"code": code, "sentence": sentence, "remedy": remedy}
    return render(request, "error.html", context, status=code)


def bad_request(request, exception=None):
    """Answer a request that cannot be understood."""
    return tell(request, 400, _("The request could not be understood."))


def forbidden(request, exception=None):
    """Answer somebody who may not do this."""
    return tell(
        request,
        403,
        _("Your role does not allow this."),
        _("The owner can change roles under People."),
    )


def stale_form(request, reason=""):
    """Answer a form whose page was open for too long, or that came from elsewhere."""
    return (came_from_here(request) and offered(request)) or tell(
        request,
        403,
        _("The form was not accepted, because its page was open for too long."),
        _("Go back, load the page again and send the form once more."),
    )


def not_found(request, exception=None):
    """Answer for what is not there, and for what is there but not for this person."""
    return tell(request, 404, _("There is nothing at this address."))


class WrongMethodTold:
    """Gives whoever opens an address that is only sent to a page, where Django gives none."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        answer = self.get_response(request)
        if not isinstance(answer, HttpResponseNotAllowed) or request.path.startswith("/api/"):
            return answer
        told = tell(
            request,
            405,
            _("This address only takes what a page sends to it."),
            _("Open the page and press its button again."),
        )
        told["Allow"] = answer["Allow"]
        return told


def locked_out(request, *_details):
    """Answer somebody who tried too many passwords."""
    return tell(
        request,
        429,
        _("There were too many attempts to sign in."),
        _("Wait a quarter of an hour, then try again."),
    )


def server_error(request):
    """Answer after a mistake of our own; the page needs nothing that could fail again."""
    if request.path.startswith("/api/"):
        document = problem_of(500, {"detail": _("Something went wrong on our side.")})
        return JsonResponse(document, status=500, content_type=PROBLEM)
    return HttpResponseServerError(loader.render_to_string("500.html"))
