"""What the API and the pages answer when something cannot be done."""

import json

import pytest
from django.core.exceptions import PermissionDenied, RequestDataTooBig, ValidationError
from django.http import Http404
from rest_framework.exceptions import NotAuthenticated, Throttled

from clients.models import Client
from services.project.errors import locked_out, problem, server_error
from services.project.parsing import DEEPEST, depth_of


def test_a_broken_rule_names_its_fields():
    error = ValidationError({"rate": ["Above the label's."], "__all__": ["Not both."]})

    answer = problem(error, {})

    assert (answer.status_code, answer.content_type) == (400, "application/problem+json")
    assert answer.data["errors"] == {
        "rate": ["Above the label's."],
        "non_field_errors": ["Not both."],
    }


def test_a_sentence_without_a_field_stands_under_non_field_errors():
    answer = problem(ValidationError("The visit is no longer planned.", code="not_planned"), {})

    assert answer.data["errors"] == {"non_field_errors": ["The visit is no longer planned."]}


@pytest.mark.parametrize(
    ("error", "code", "title"),
    [
        (Http404(), 404, "Not Found"),
        (PermissionDenied(), 403, "Forbidden"),
        (NotAuthenticated(), 401, "Unauthorized"),
        (Throttled(wait=7), 429, "Too Many Requests"),
        (RequestDataTooBig(), 413, "Request Entity Too Large"),
    ],
)
def test_each_refusal_is_a_problem_with_the_members_of_rfc_9457(error, code, title):
    # RFC 9457, section 3.1: type, status, title, detail
    answer = problem(error, {})

    assert answer.status_code == answer.data["status"] == code
    assert answer.data["title"] == title
    assert answer.data["type"] == "about:blank"
    assert answer.data["detail"]


def test_a_throttled_program_is_told_when_to_come_back():
    assert problem(Throttled(wait=7), {}).headers["Retry-After"] == "7"


def test_an_error_nobody_foresaw_is_not_dressed_up():
    assert problem(ZeroDivisionError(), {}) is None


def test_an_unknown_address_of_the_api_is_a_problem(client):
    answer = client.get("/api/nothing")

    assert answer.status_code == 404
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert json.loads(answer.content)["status"] == 404


def test_our_own_mistake_needs_no_template_engine_beyond_a_plain_page(rf):
    assert server_error(rf.get("/")).status_code == 500
    assert server_error(rf.get("/api/v1/")).headers["Content-Type"] == "application/problem+json"


def test_too_many_passwords_are_answered_with_429(rf):
    assert locked_out(rf.post("/api/"), None, {}).status_code == 429


@pytest.mark.parametrize(
    ("text", "depth"),
    [("1", 0), ("[]", 1), ('{"a": [1, {"b": 2}]}', 3), ('["[[[", "\\"[["]', 1), ("[[], []]", 2)],
)
def test_the_depth_of_json_counts_brackets_outside_strings(text, depth):
    assert depth_of(text.encode()) == depth


@pytest.mark.usefixtures("grows_little")
def test_json_deeper_than_twenty_is_refused_before_it_is_read(client, owner, post):
    at_the_limit = post("[" * DEEPEST + "]" * DEEPEST)
    beyond = post("[" * 100_000)

    assert "nested" not in at_the_limit.json()["detail"]
    assert beyond.status_code == 400
    assert "nested more than 20 deep" in beyond.json()["detail"]


@pytest.mark.usefixtures("grows_little")
def test_a_text_of_ten_megabytes_is_refused(client, owner, api):
    client.force_login(owner)
    api.force_authenticate(owner)
    absurd = {"name": "x" * 10_000_000}

    page = client.post("/clients/new/", absurd)
    listed = api.post("/api/v1/clients/", absurd, format="json")

    assert (page.status_code, listed.status_code) == (400, 413)
    assert client.get("/clients/new/").status_code == 200
    assert not Client.objects.exists()


@pytest.mark.parametrize("body", ['"\\ud800"', '{"\\udfff": 1}', '[["x", "\\udc00\\ud800"]]'])
def test_half_a_surrogate_pair_is_refused(owner, post, body):
    assert post(body).json()["detail"] == "The request could not be understood."


def test_a_whole_surrogate_pair_is_a_sign(owner, post):
    assert "str" in post('"\\ud83c\\udf39"').json()["errors"]["non_field_errors"][0]


@pytest.fixture
def post(rf, owner):
    """Send a body to a view of the API that takes anything."""
    from rest_framework.test import force_authenticate
    from rest_framework.views import APIView

    class Anything(APIView):
        def post(self, request):
            raise ValidationError(str(type(request.data)))

    def send(body):
        request = rf.post("/api/v1/anything", body, content_type="application/json")
        force_authenticate(request, owner)
        answer = Anything.as_view()(request).render()
        answer.json = lambda: json.loads(answer.content)
        return answer

    return send
