"""Lets programs fetch papers and tables where people do, by the key that opens the API to them."""

from django.http import JsonResponse
from django.utils.translation import gettext as _
from rest_framework.exceptions import APIException, PermissionDenied

from services.program_keys import WORD, note_use, row_sent
from services.project.errors import PROBLEM, problem_of

SAFE = ("GET", "HEAD")


class KeysOnDownloads:
    """Signs a program in where a file is fetched: an address whose last part has an ending.

    Each page still asks for the role; a program is never signed in to anything that is sent.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if request.method in SAFE and "." in request.path.rpartition("/")[2]:
            try:
                _sign_in(request)
            except APIException as refused:
                return _refused(refused)
        return self.get_response(request)


def _sign_in(request) -> None:
    row = row_sent(request)
    if row is None:
        return
    if "read" not in row.scopes:
        raise PermissionDenied(_("This key has no scope %(scope)s.") % {"scope": "read"})
    note_use(row)
    request.user = row.person


def _refused(refused: APIException) -> JsonResponse:
    document = problem_of(refused.status_code, {"detail": refused.detail})
    answer = JsonResponse(document, status=refused.status_code, content_type=PROBLEM)
    if refused.status_code == 401:
        answer["WWW-Authenticate"] = WORD
    return answer
