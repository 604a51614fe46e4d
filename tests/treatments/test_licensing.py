"""A licence that changes holds at once, and ends the sessions of who signs in under it."""

from datetime import date

import pytest
from django.test import Client

from treatments.certified import is_certified

pytestmark = pytest.mark.django_db
DAY = date(2026, 7, 6)


@pytest.fixture
def certificate(applicator):
    return applicator.certificates.get()


def signed_in(user):
    browser = Client()
    browser.force_login(user)
    return browser


def form_of(certificate, **changes):
    return {
        "number": certificate.number,
        "jurisdiction": certificate.jurisdiction,
        "categories": "ornamental and turf",
        "issued_on": "2025-01-01",
        "expires_on": "2027-12-31",
        **changes,
    }


def test_a_suspension_ends_the_sessions_of_its_holder(dispatcher, certificate):
    holder = signed_in(certificate.applicator.user)
    assert holder.get("/records/").status_code == 200
    address = f"/applicators/{certificate.applicator_id}/certificates/{certificate.pk}/"

    signed_in(dispatcher).post(address, form_of(certificate, suspended_from="2026-07-01"))

    assert holder.get("/records/").status_code == 302
    assert not is_certified(certificate.applicator.user, DAY)


def test_who_is_suspended_is_certified_again_from_the_day_it_ends(certificate):
    certificate.suspended_from, certificate.reinstated_on = date(2026, 7, 1), date(2026, 7, 6)
    certificate.save()

    user = certificate.applicator.user
    assert not is_certified(user, date(2026, 7, 5))
    assert is_certified(user, date(2026, 7, 6))


def test_an_owner_is_certified_by_a_certificate_not_by_the_role(owner, applicator):
    assert not is_certified(owner, DAY)

    applicator.user = owner
    applicator.save()

    assert is_certified(owner, DAY)


def test_the_office_is_never_certified(dispatcher, applicator):
    applicator.user = dispatcher
    applicator.save()

    assert not is_certified(dispatcher, DAY)


def test_it_is_in_force_again_only_after_it_was_suspended(dispatcher, certificate):
    address = f"/applicators/{certificate.applicator_id}/certificates/{certificate.pk}/"
    form = form_of(certificate, suspended_from="2026-07-02", reinstated_on="2026-07-01")

    answer = signed_in(dispatcher).post(address, form)

    assert answer.status_code == 422
    assert "after it was suspended" in answer.content.decode()
