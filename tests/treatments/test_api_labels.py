"""Ingredients, pests, products, people and sprayers through the API."""

import pytest

from treatments.models import Applicator, Pest, Product, Sprayer

PRODUCT = {
    "name": "Plain Oil",
    "formulation_code": "EC",
    "epa_registration_number": "0-105",
    "contents": [],
    "rates": [],
}


def product_of(soap, **others):
    """Return a product as a program sends it, with the soap's ingredient and a rate for roses."""
    content = {"ingredient": soap.contents.get().ingredient_id, "percent_by_weight": "40"}
    rate = {"plant_group": "rose", "minimum": "1", "maximum": "2", "basis": "fl oz/gal"}
    return {**PRODUCT, "contents": [content], "rates": [rate], **others}


@pytest.mark.parametrize(
    "place",
    [
        "active-ingredients",
        "pests",
        "products",
        "counts",
        "lots",
        "stock-entries",
        "rotations",
        "sprayers",
        "calibrations",
        "applicators",
        "certificates",
        "records",
    ],
)
def test_a_stranger_gets_nothing(api, db, place):
    answer = api.get(f"/api/v1/{place}/")

    assert answer.status_code == 401
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize(
    ("place", "is_seen"),
    [
        ("products", True),
        ("pests", True),
        ("sprayers", True),
        ("records", True),
        ("counts", True),
        ("lots", False),
        ("stock-entries", False),
        ("rotations", False),
        ("applicators", False),
        ("certificates", False),
    ],
)
def test_a_technician_reads_what_the_work_needs(api, technician, place, is_seen):
    api.force_authenticate(technician)

    assert (api.get(f"/api/v1/{place}/").status_code == 200) == is_seen


def test_a_product_comes_with_contents_rates_and_version(api, dispatcher, soap):
    api.force_authenticate(dispatcher)

    answer = api.get(f"/api/v1/products/{soap.pk}/")

    assert answer["ETag"] == '"v1"'
    assert answer.data["contents"][0]["percent_by_weight"] == "49.000"
    assert answer.data["rates"][0]["maximum"] == "5.000"


def test_a_product_is_made_with_its_contents_and_rates(api, owner, soap):
    api.force_authenticate(owner)

    answer = api.post("/api/v1/products/", product_of(soap))

    assert answer.status_code == 201
    made = Product.objects.get(name="Plain Oil")
    assert (made.contents.count(), made.rates.count()) == (1, 1)


def test_nothing_of_a_product_is_kept_when_a_rate_is_wrong(api, owner, soap):
    api.force_authenticate(owner)
    wrong = product_of(soap)
    wrong["rates"][0] |= {"minimum": "3"}

    answer = api.post("/api/v1/products/", wrong)

    assert answer.status_code == 400
    assert "The highest rate is at least the lowest." in str(answer.data)
    assert not Product.objects.filter(name="Plain Oil").exists()


@pytest.mark.parametrize(
    ("headers", "status"),
    [({}, 428), ({"If-Match": '"v9"'}, 412), ({"If-Match": '"v1"'}, 200)],
)
def test_a_product_is_changed_only_by_who_read_its_version(api, owner, soap, headers, status):
    api.force_authenticate(owner)

    answer = api.patch(f"/api/v1/products/{soap.pk}/", {"price": "0.5"}, headers=headers)

    assert answer.status_code == status
    assert Product.objects.filter(price="0.5").exists() == (status == 200)


def test_a_change_leaves_contents_that_were_not_sent(api, owner, soap):
    api.force_authenticate(owner)

    api.patch(f"/api/v1/products/{soap.pk}/", {"price": "0.5"}, headers={"If-Match": '"v1"'})

    assert soap.contents.count() == 1


def test_many_products_ask_as_often_as_one(api, owner, soap, django_assert_max_num_queries):
    api.force_authenticate(owner)
    for number in range(4):
        api.post("/api/v1/products/", product_of(soap, name=f"Oil {number}"))

    with django_assert_max_num_queries(6):  # role twice, count, products, contents, rates
        assert api.get("/api/v1/products/").data["count"] == 5


def test_the_office_reads_labels_and_does_not_write_them(api, dispatcher, soap):
    api.force_authenticate(dispatcher)

    assert api.post("/api/v1/products/", product_of(soap)).status_code == 403
    assert api.post("/api/v1/pests/", {"common_name": "scale"}).status_code == 403


def test_a_pest_is_made_and_its_stages_are_known_ones(api, owner):
    api.force_authenticate(owner)
    pest = {"common_name": "lace bug", "scientific_name": "Stephanitis pyrioides"}

    wrong = api.post("/api/v1/pests/", {**pest, "stages": ["pupa"]})
    made = api.post("/api/v1/pests/", {**pest, "stages": ["egg", "nymph", "adult"]})

    assert (wrong.status_code, made.status_code) == (400, 201)
    assert Pest.objects.get().stages == ["egg", "nymph", "adult"]


def test_an_ingredient_is_made(api, owner):
    api.force_authenticate(owner)

    answer = api.post("/api/v1/active-ingredients/", {"name": "abamectin", "irac_group": "6"})

    assert answer.status_code == 201


def test_an_applicator_is_entered_by_the_office_with_a_certificate(api, dispatcher):
    api.force_authenticate(dispatcher)

    api.post("/api/v1/applicators/", {"name": "N. Ewcomer"})
    holder = Applicator.objects.get()
    answer = api.post(
        "/api/v1/certificates/",
        {
            "applicator": holder.pk,
            "number": "PA-0009",
            "jurisdiction": "US-PA",
            "categories": ["ornamental and turf"],
            "expires_on": "2027-12-31",
        },
    )

    assert answer.status_code == 201
    assert holder.certificates.get().categories == ["ornamental and turf"]


def test_a_certificate_that_expires_before_it_was_issued_is_refused(api, owner, applicator):
    api.force_authenticate(owner)
    certificate = applicator.certificates.get()

    answer = api.patch(f"/api/v1/certificates/{certificate.pk}/", {"issued_on": "2028-01-01"})

    assert answer.status_code == 400


def test_a_calibration_is_added_and_never_changed(api, owner, sprayer, applicator):
    api.force_authenticate(owner)
    measured = {
        "sprayer": sprayer.pk,
        "person": applicator.pk,
        "nozzle": "hollow cone",
        "method": "refill",
        "readings": {"used_gallons": ["12", "12", "12"], "length_ft": "660", "swath_ft": "10"},
        "calibrated_on": "2026-03-01",
    }

    made = api.post("/api/v1/calibrations/", measured)
    changed = api.patch(f"/api/v1/calibrations/{made.data['id']}/", {"nozzle": "flat fan"})

    assert (made.status_code, changed.status_code) == (201, 405)


def test_a_sprayer_is_entered_by_the_office(api, dispatcher):
    api.force_authenticate(dispatcher)

    answer = api.post("/api/v1/sprayers/", {"name": "Power", "kind": "power", "tank_gallons": "50"})

    assert answer.status_code == 201
    assert Sprayer.objects.get().reach_ft == 8
