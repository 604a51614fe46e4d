"""Events that were broken on their way, or by somebody: told, never an error, never half kept.

Hypothesis breaks good events: values, keys, and the bytes of the whole request.

`DUSKBOOK_DEPTH=20` breaks twenty times as many.
"""

import json
import os
from copy import deepcopy

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from services.models import FieldEvent, Hold, Visit
from treatments.models import ApplicationRecord, JournalEntry, StockEntry

DEPTH = int(os.environ.get("DUSKBOOK_DEPTH", "1"))
BROKEN = settings(
    max_examples=60 * DEPTH,
    derandomize=DEPTH == 1,
    database=None,
    phases=[Phase.generate, Phase.shrink],
    suppress_health_check=list(HealthCheck),
)
HOSTILE = [
    None,
    True,
    0,
    -1,
    2**31,
    2**53 - 1,
    2**63,
    10**400,
    1.5,
    float("1e308"),
    "",
    " ",
    "1e400",
    "NaN",
    "-0",
    "9" * 400,
    "١٢",
    "1_000",
    "x" * 5_000,
    "\x00",
    "\ud800",
    "\u202e",
    "e\u0301",
    "2026-03-08T02:30:00",
    "0001-01-01T00:00:00+14:00",
    "9999-12-31T23:59:59-12:00",
    "2026-07-13T24:00:00-04:00",
    "2026-07-13T15:40:60-04:00",
    "America/Nowhere",
    "../../etc/localtime",
    "<script>alert(1)</script>",
    [],
    {},
    [[]],
    {"": ""},
    [{"planting": 1}] * 101,
    {"a": {"a": {"a": {"a": {"a": {"a": {}}}}}}},
]
json_values = st.one_of(
    st.sampled_from(HOSTILE),
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(max_size=9),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
        max_leaves=6,
    ),
)


def places_in(value, before=()):
    """Yield where something stands in nested JSON, as the keys that lead there."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, each in items:
        yield (*before, key)
        if isinstance(each, (dict, list)):
            yield from places_in(each, (*before, key))


@st.composite
def breaks(draw, event):
    """Return an event in which a few values are others, gone, or under another name."""
    broken = deepcopy(event)
    for _n in range(draw(st.integers(1, 3))):
        *way, last = draw(st.sampled_from(list(places_in(broken))))
        holder = broken
        for key in way:
            holder = holder[key]
        how = draw(st.sampled_from(["other", "other", "gone", "renamed"]))
        if how == "other":
            holder[last] = deepcopy(draw(json_values))
        else:
            value = holder.pop(last)
            if how == "renamed" and isinstance(holder, dict):
                holder[draw(st.text(max_size=8))] = value
        if not broken:
            break
    return broken


@pytest.fixture
def good_events(phone, completes, dispatched):
    """Return an event of each kind, all good."""
    done = completes(phone)
    changes = {"reports": done["body"]["reports"]}
    return [
        done,
        phone.event("start", visit_id=dispatched.pk),
        phone.event("hold", visit_id=dispatched.pk, body={"reason": "wind", "note": "gusts"}),
        phone.event("note", body={"text": "webs"}, photos=[{"sha256": "a" * 64, "size": 10}]),
        phone.event("unplanned", body={"where": "the hedge next door"}),
        phone.event(
            "amend",
            body={
                "event": done["event_id"],
                "reason": "The amount was another.",
                "changes": changes,
            },
        ),
    ]


def book():
    """Return what the book holds of the field, to see that nothing of an event is left in it."""
    return {
        "records": ApplicationRecord.objects.count(),
        "stock": StockEntry.objects.count(),
        "entries": JournalEntry.objects.count(),
        "holds": Hold.objects.count(),
        "visits": list(Visit.objects.order_by("pk").values()),
    }


def is_whole(reply, before):
    """Say whether of an event all is kept, or nothing but its own row."""
    after = book()
    if reply["result"] in ("refused", "needs_input"):
        assert after == before
        assert reply.get("problem") or reply["missing"]
        return
    numbers = {receipt["number"] for receipt in reply["records"]}
    assert after["records"] - before["records"] == len(numbers)
    assert ApplicationRecord.objects.filter(number__in=numbers).count() == len(numbers)
    assert FieldEvent.objects.get(event_id=reply["event_id"]).records.count() == len(numbers)


def sent_in_ascii(phone, event):
    """Send an event with every other sign escaped, as half a pair can only be sent."""
    batch = {"device_id": str(phone.device.pk), "unsent": 0, "events": [event]}
    return phone.api.generic(
        "POST",
        "/api/v1/sync/",
        json.dumps(batch, default=str),
        content_type="application/json",
        headers={"X-Phone": str(phone.device.pk)},
    )


@BROKEN
@given(data=st.data())
def test_a_broken_event_is_told_and_kept_whole_or_not(data, phone, good_events):
    event = data.draw(st.sampled_from(good_events))
    broken = data.draw(breaks(event))

    with transaction.atomic():
        before = book()
        answer = sent_in_ascii(phone, broken)
        assert answer.status_code in (200, 400), answer.content
        for reply in answer.json().get("replies", []):
            is_whole(reply, before)
        # Whatever was sent before, the good event is taken, or known to be another.
        (after,) = phone.say(event)
        told = after.get("problem", {}).get("title", "another-body")
        assert after["result"] != "refused" or told == "another-body"
        transaction.set_rollback(True)


@BROKEN
@given(data=st.data())
def test_a_broken_request_is_told(data, phone, good_events):
    batch = {"device_id": str(phone.device.pk), "unsent": 0, "events": good_events[:2]}
    sent = bytearray(json.dumps(data.draw(breaks(batch)), default=str).encode())
    for _n in range(data.draw(st.integers(0, 3))):
        place = data.draw(st.integers(0, len(sent)))
        sent[place : place + data.draw(st.integers(0, 20))] = data.draw(st.binary(max_size=20))

    with transaction.atomic():
        answer = phone.api.generic(
            "POST",
            "/api/v1/sync/",
            bytes(sent),
            content_type="application/json",
            headers={"X-Phone": str(phone.device.pk)},
        )
        assert answer.status_code in (200, 400, 403, 413), answer.content
        if answer.status_code != 200:
            assert answer["Content-Type"].startswith("application/problem+json")
            assert not FieldEvent.objects.exists()
        transaction.set_rollback(True)
