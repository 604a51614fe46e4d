"""The API by its own schema: requests that it allows, and requests that it does not, of every role.

schemathesis makes the requests and holds the answers against the schema.  Ids in
addresses and bodies are things of the book, so that more is reached than "not found".

`DUSKBOOK_DEPTH=20` makes twenty times as many requests.
"""

import json
import os
import re
from contextlib import contextmanager
from datetime import date
from functools import cache

import pytest
import schemathesis
from django.db import transaction
from django.test.client import ClientHandler
from django.urls import resolve
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import response_schema_conformance

from clients.access import Role
from services.program_keys import make_key
from tests.architecture.addresses import MATRIX, PLACE, Address
from tests.architecture.conftest import ROLES
from tests.book import NOW

pytestmark = pytest.mark.django_db

DEPTH = int(os.environ.get("DUSKBOOK_DEPTH", "1"))
KEYS = ["read", "write:clients", "write:treatments", "write:services"]
SAFE = ("get", "head", "options")
REFUSALS = (401, 403, 404, 405)
MODES = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]
TOLD: list[bytes] = []  # the schema
MADE_UP: dict[tuple, list] = {}  # requests by operation, number and book
# Names in bodies whose things are called otherwise in addresses.
CALLED = {"applicator": "applicator_id", "ingredient": "thing_id", "of": "event_id"}


@pytest.fixture(autouse=True)
def refusals_are_quiet(caplog):
    """Thousands of refusals are meant; only what fails is told."""
    caplog.set_level("ERROR", "django.request")


@pytest.fixture
def no_limit_of_requests(monkeypatch):
    """Let as many requests through as are made here; the limits have tests of their own."""
    monkeypatch.setattr("rest_framework.throttling.SimpleRateThrottle.allow_request", allowed)


def allowed(*_asked):
    return True


def answered(environ, start_response):
    """Answer as the program does, within the transaction of the test."""
    answer = ClientHandler(enforce_csrf_checks=False)(environ)
    start_response(f"{answer.status_code} {answer.reason_phrase}", list(answer.items()))
    return [answer.getvalue()]


@pytest.fixture
def operations(visitor):
    """The operations of the schema as a program reads it: once in a process, for all roles."""
    if not TOLD:
        told = visitor("owner").get("/api/schema/", headers={"Accept": "application/json"})
        TOLD.append(told.content)
    return operations_of(TOLD[0])


@cache
def operations_of(told):
    """Return the operations of a schema; each keeps how its requests are made up, for all roles."""
    schema = schemathesis.openapi.from_dict(json.loads(told))
    schema.app = answered
    return [each.ok() for each in schema.get_all_operations()]


def address_of(operation):
    """Return the line of the matrix for an operation."""
    route = re.sub(r"{(\w+)}", r"<\1>", operation.path.removeprefix("/"))
    names = {PLACE.sub("<>", line): line for line in MATRIX["api"]}
    line = names[PLACE.sub("<>", route)]
    return Address(line, MATRIX["api"][line])


def test_the_schema_tells_of_every_address_of_the_matrix_and_no_other(operations):
    told = {(address_of(each).route, each.method.lower()) for each in operations}
    lines = MATRIX["api"].items()
    meant = {
        (route, method)
        for route, rights in lines
        for method in rights
        if method in ("get", "post", "put", "patch", "delete")
    }

    # The list of addresses and the schema itself are no part of what the schema tells.
    assert meant - told == {("api/schema/", "get"), ("api/v1/", "get")}
    assert told - meant == set()


@pytest.mark.slow
@pytest.mark.parametrize("role", ROLES)
def test_whatever_a_role_sends_is_answered_by_schema_and_matrix(
    role, operations, visitor, things, no_limit_of_requests
):
    browser = visitor(role)
    headers = {"Cookie": "; ".join(f"{name}={m.value}" for name, m in browser.cookies.items())}
    if role == "phone":
        headers["X-Phone"] = str(things["device_id"])

    faults = []
    for operation in operations:
        may = role in address_of(operation).allowed(operation.method.lower())
        with noted(faults):
            tried(operation, things, headers, may=may, often=2 if role == "owner" else 1)

    assert not faults, "\n".join(faults)


@pytest.mark.slow
@pytest.mark.once  # of a key it is the rights; what a database does not take, roles have sent
@pytest.mark.parametrize("scope", KEYS)
@pytest.mark.parametrize("role", [Role.OWNER, Role.TECHNICIAN])
def test_a_key_opens_what_its_scope_and_its_person_may(
    role, scope, operations, book, things, no_limit_of_requests
):
    person = book.people[role]
    key = make_key(
        person, name="Probe", scopes=[scope], expires_on=date(2027, 1, 1), by=person, now=NOW
    )
    headers = {"Authorization": f"Bearer {key}"}

    faults = []
    for operation in operations:
        address = address_of(operation)
        package = resolve(address.filled(things)).func.__module__.partition(".")[0]
        needed = "read" if operation.method.lower() in SAFE else f"write:{package}"
        may = needed == scope and str(role) in address.allowed(operation.method.lower())
        with noted(faults):
            tried(operation, things, headers, may=may, often=1)

    assert not faults, "\n".join(faults)


@contextmanager
def noted(faults):
    """Note what is wrong with one operation and go on, so that all of it is told at once."""
    try:
        yield
    except (AssertionError, FailureGroup) as wrong:
        each = getattr(wrong, "exceptions", [wrong])
        faults += [f"{one}\n{wrong}"[:900] for one in each]


def tried(operation, things, headers, *, may, often):
    """Send requests to an operation and hold each answer against schema and right."""
    for case in requests_to(operation, things, often):
        with transaction.atomic():
            answer = case.call(headers=headers | {"If-Match": '"v1"'})
            transaction.set_rollback(True)
        is_told_well(answer, case)
        if not may:
            assert answer.status_code in REFUSALS, (case.method, case.path, answer.status_code)


def requests_to(operation, things, often):
    """Return so many requests to an operation, which are the same for whoever sends them.

    So a process makes them up once, unless DUSKBOOK_DEPTH asks for others each time.
    """
    if DEPTH > 1:
        return made_up(operation, things, often)
    key = operation.label, often, repr(things)
    if key not in MADE_UP:
        MADE_UP[key] = made_up(operation, things, often)
    return MADE_UP[key]


def made_up(operation, things, often):
    """Make requests up."""
    address = address_of(operation)
    (name,) = [*re.findall(r"{(\w+)}", operation.path), None][:1]
    thing = address.named()[0] if name else ""
    own = {name: str(things.get(thing, thing))} if name else {}
    cases = []

    @settings(
        max_examples=often * DEPTH,
        deadline=None,
        derandomize=DEPTH == 1,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def drawn(data):
        mode = data.draw(st.sampled_from(MODES if often > 1 or DEPTH > 1 else MODES[:1]))
        case = data.draw(operation.as_strategy(mode, path_parameters=own))
        if isinstance(case.body, dict) and data.draw(st.booleans()):
            case.body |= dict(of_the_book(case.body, things))
        cases.append(case)

    drawn()
    return cases


def of_the_book(body, things):
    """Yield the names of a body that stand for a thing, each with one of the book."""
    for name in body:
        found = things.get(CALLED.get(name, f"{name}_id"))
        if found is not None:
            yield name, found if isinstance(found, int) else str(found)


def is_told_well(answer, case):
    """Say whether an answer is what the schema says, or a problem document as RFC 9457 has it."""
    checks = [not_a_server_error, response_schema_conformance]
    case.validate_response(answer, checks=checks)
    documented = case.operation.responses.find_by_status_code(answer.status_code)
    if answer.status_code < 400:
        assert documented is not None, (case.method, case.path, answer.status_code)
    elif answer.content and documented is None:
        assert answer.headers["content-type"][0].startswith("application/problem+json"), case.path
        problem = answer.json()
        assert problem["status"] == answer.status_code
        assert {"type", "title"} <= set(problem)
