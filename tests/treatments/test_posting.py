"""Signs that stand: the hours of the rule, whose list they are on, and that they came down."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from treatments.models import ApplicationRecord, SignTakenDown
from treatments.posting import signs_standing, take_down
from treatments.recording import record_application

DONE = datetime(2026, 7, 6, 22, tzinfo=UTC)


@pytest.fixture
def posted(rose_bed, soap_lot, spider_mite, applicator, business):
    """Return a record whose sign went up at its end, in a state."""

    def kept(state, posted_at=DONE):
        rose_bed.property.jurisdiction = state
        rose_bed.property.save()
        return record_application(
            planting=rose_bed,
            product=soap_lot.product,
            pest=spider_mite,
            lot=soap_lot,
            applicator=applicator,
            rate=Decimal("2.5"),
            rate_basis="fl oz/gal",
            product_amount=Decimal("7.5"),
            mix_gallons=Decimal(3),
            started_at=DONE - timedelta(hours=1),
            done_at=DONE,
            posted_at=posted_at,
            recorded_by=applicator.user,
        )

    return kept


def standing(now):
    return signs_standing(ApplicationRecord.objects.all(), now)


# [NJAC-7-30-9-13] 72 hours; [NY-ECL-33] 24 hours; [MD-5-208] 48 hours, the customer removes it
@pytest.mark.parametrize(
    ("state", "hours", "clients"),
    [("US-NJ", 72, False), ("US-NY", 24, False), ("US-MD", 48, True)],
)
def test_a_sign_may_come_down_after_the_hours_of_its_rule(posted, state, hours, clients):
    posted(state)

    (sign,) = standing(DONE + timedelta(hours=1))

    end = DONE + timedelta(hours=hours)
    assert (sign.down_at, sign.is_clients()) == (end, clients)
    assert not sign.may_come_down_at(end - timedelta(seconds=1))
    assert sign.may_come_down_at(end)


def test_without_a_sign_nothing_stands(posted):
    record = posted("US-NJ", posted_at=None)

    assert standing(DONE) == []
    with pytest.raises(ValidationError, match="No sign"):
        take_down(record, by=record.recorded_by, at=DONE)


def test_a_sign_comes_down_once(posted, owner):
    record = posted("US-NJ")

    first = take_down(record, by=owner, at=DONE + timedelta(hours=72))
    again = take_down(record, by=owner, at=DONE + timedelta(hours=80))

    assert (first, again) == (True, False)
    assert SignTakenDown.objects.get().taken_down_at == DONE + timedelta(hours=72)
    assert standing(DONE + timedelta(hours=90)) == []


def test_the_page_says_who_put_it_up_and_lets_it_come_down(client, owner, posted):
    record = posted("US-NJ")
    client.force_login(owner)

    answer = client.post(reverse("services:take_down_sign", args=[record.number]), follow=True)

    assert "written down that the sign came down" in answer.content.decode()
    assert SignTakenDown.objects.get().taken_down_by == owner
