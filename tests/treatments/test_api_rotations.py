"""Rotations through the API: kept, changed, and asked about without being kept."""

from decimal import Decimal

import pytest

from treatments.models import ActiveIngredient, Product, Rotation

REASON = "Nothing else is left in the store."


@pytest.fixture
def miticide(db):
    """A product of IRAC group 6, which may not follow itself without a good reason."""
    product = Product.objects.create(name="Slow Mist", epa_registration_number="0-103")
    abamectin = ActiveIngredient.objects.create(name="abamectin", irac_group="6")
    product.contents.create(ingredient=abamectin, percent_by_weight=Decimal(2))
    product.rates.create(
        plant_group="rose", minimum=Decimal(1), maximum=Decimal(4), basis="fl oz/gal"
    )
    return product


def draft(pest, *products, rate="3", **others):
    """Return a rotation as a program sends it, one week a product."""
    weeks = [
        {"week": number, "product": product.pk, "rate": rate, "basis": "fl oz/gal"}
        for number, product in enumerate(products, 1)
    ]
    told = {"name": "Mildly", "pest": pest.pk, "plant_group": "rose", "first_day": "2026-08-03"}
    return {**told, "weeks": weeks, **others}


def severities(findings):
    return {finding["severity"] for finding in findings}


def test_a_rotation_is_kept_with_its_weeks(api, owner, soap, spider_mite):
    api.force_authenticate(owner)

    answer = api.post("/api/v1/rotations/", draft(spider_mite, soap, soap))

    assert answer.status_code == 201
    assert [week["week"] for week in answer.data["weeks"]] == [1, 2]
    assert Rotation.objects.get().composed_by == owner


def test_a_refusal_comes_with_its_finding(api, owner, soap, spider_mite):
    api.force_authenticate(owner)

    answer = api.post("/api/v1/rotations/", draft(spider_mite, soap, rate="5.1"))

    assert answer.status_code == 400
    assert "refusal" in severities(answer.data["errors"]["findings"])
    assert not Rotation.objects.exists()


def test_a_warning_is_accepted_with_a_reason(api, owner, miticide, spider_mite):
    api.force_authenticate(owner)
    told = draft(spider_mite, miticide, miticide)

    silent = api.post("/api/v1/rotations/", told)
    keys = [finding["key"] for finding in silent.data["errors"]["findings"]]
    kept = api.post("/api/v1/rotations/", {**told, "reasons": dict.fromkeys(keys, REASON)})

    assert (silent.status_code, kept.status_code) == (400, 201)
    assert {each["reason"] for each in kept.data["accepted_warnings"]} == {REASON}


def test_a_rotation_is_read_with_its_findings_and_version(
    api, dispatcher, owner, miticide, spider_mite
):
    kept = Rotation.objects.create(name="Twice", pest=spider_mite, plant_group="rose")
    for week in (1, 2):
        kept.weeks.create(week=week, product=miticide, rate=Decimal(3), basis="fl oz/gal")
    api.force_authenticate(dispatcher)

    answer = api.get(f"/api/v1/rotations/{kept.pk}/")

    assert answer["ETag"] == '"v1"'
    assert "warning" in severities(answer.data["findings"])


def test_a_check_keeps_nothing(api, dispatcher, miticide, rose_bed, spider_mite):
    api.force_authenticate(dispatcher)
    told = draft(spider_mite, miticide, miticide, plantings=[rose_bed.pk])

    answer = api.post("/api/v1/rotations/check/", told)

    assert answer.status_code == 200
    assert "warning" in severities(answer.data)
    assert not Rotation.objects.exists()


def test_the_office_drafts_and_who_is_certified_approves(
    api, dispatcher, applicator, soap, spider_mite
):
    api.force_authenticate(dispatcher)
    draft_kept = api.post("/api/v1/rotations/", draft(spider_mite, soap)).data
    assert draft_kept["is_draft"]
    address = f"/api/v1/rotations/{draft_kept['id']}/approve/"
    assert api.post(address).status_code == 403

    api.force_authenticate(applicator.user)

    assert not api.post(address).data["is_draft"]


@pytest.mark.parametrize(
    ("headers", "status"),
    [({}, 428), ({"If-Match": '"v9"'}, 412), ({"If-Match": '"v1"'}, 200)],
)
def test_a_rotation_is_changed_only_by_who_read_its_version(
    api, owner, soap, spider_mite, headers, status
):
    api.force_authenticate(owner)
    made = api.post("/api/v1/rotations/", draft(spider_mite, soap)).data
    told = draft(spider_mite, soap, soap, name="Longer")

    answer = api.put(f"/api/v1/rotations/{made['id']}/", told, headers=headers)

    assert answer.status_code == status
    assert Rotation.objects.filter(name="Longer").exists() == (status == 200)


def test_many_rotations_ask_as_often_as_one(
    api, owner, soap, spider_mite, django_assert_max_num_queries
):
    api.force_authenticate(owner)
    for number in range(3):
        api.post("/api/v1/rotations/", draft(spider_mite, soap, name=f"Soap {number}"))

    with django_assert_max_num_queries(5):  # role, count, rotations, weeks, warnings
        assert api.get("/api/v1/rotations/").data["count"] == 3
