"""The pages of products, pests, ingredients, sprayers and applicators."""

import pytest

from treatments.models import ActiveIngredient, Pest, Product, Sprayer

PRODUCT = {
    "name": "Plain Oil",
    "kind": "pesticide",
    "formulation_code": "EC",
    "bloom_rule": "none",
    "amount_basis": "fl oz/1000 ft2",
    "stock_unit": "fl oz",
    "contents-TOTAL_FORMS": "0",
    "contents-INITIAL_FORMS": "0",
    "rates-TOTAL_FORMS": "0",
    "rates-INITIAL_FORMS": "0",
}


@pytest.mark.parametrize(
    "address", ["/products/", "/pests/", "/ingredients/", "/sprayers/", "/products/new/"]
)
def test_a_stranger_is_asked_to_sign_in(client, db, address):
    answer = client.get(address)

    assert answer.status_code == 302
    assert "/accounts/login/" in answer["Location"]


def test_a_product_is_read_as_its_label(client, dispatcher, soap):
    client.force_login(dispatcher)

    page = client.get(f"/products/{soap.pk}/").content.decode()

    assert "0-101" in page
    assert "after 12 hours; when the spray has dried" in page
    assert "potassium salts of fatty acids 49 %" in page
    assert "not stated" in page


@pytest.mark.parametrize(
    ("language", "words"), [("en", "Highest water pH"), ("es", "Máximo pH del agua")]
)
def test_the_signs_of_ph_are_left_as_they_are(client, dispatcher, soap, language, words):
    client.force_login(dispatcher)
    client.cookies["django_language"] = language

    page = client.get(f"/products/{soap.pk}/").content.decode()

    assert words in page


def test_the_office_reads_labels_and_does_not_enter_them(client, dispatcher, soap):
    client.force_login(dispatcher)

    assert "Change what was entered" not in client.get(f"/products/{soap.pk}/").content.decode()
    assert client.get(f"/products/{soap.pk}/edit/").status_code == 403


def test_the_owner_enters_a_product(client, owner):
    client.force_login(owner)

    answer = client.post("/products/new/", PRODUCT)

    assert answer.status_code == 302
    assert Product.objects.get().name == "Plain Oil"


def test_a_wrong_registration_number_is_shown_again_as_it_was_typed(client, owner):
    client.force_login(owner)

    answer = client.post("/products/new/", {**PRODUCT, "epa_registration_number": "none at all"})

    assert answer.status_code == 422
    assert 'value="none at all"' in answer.content.decode()
    assert not Product.objects.exists()


def test_the_register_of_products_asks_as_often_for_many_as_for_one(
    client, owner, soap, count_queries
):
    client.force_login(owner)
    once = count_queries("/products/")
    for number in range(3):
        other = Product.objects.create(name=f"Soap {number}", formulation_code="SL")
        other.contents.create(
            ingredient=soap.contents.get().ingredient, percent_by_weight=10 + number
        )

    assert count_queries("/products/") == once


def test_a_pest_is_entered_and_changed(client, owner):
    client.force_login(owner)
    pest = {"common_name": "azalea lace bug", "scientific_name": "Stephanitis pyrioides"}

    client.post("/pests/new/", pest)
    client.post(f"/pests/{Pest.objects.get().pk}/", {**pest, "eppo_code": "STEPPY"})

    assert Pest.objects.get().eppo_code == "STEPPY"


def test_an_ingredient_is_listed_with_its_group(client, owner):
    ActiveIngredient.objects.create(name="abamectin", irac_group="6")
    client.force_login(owner)

    assert "abamectin" in client.get("/ingredients/").content.decode()


def test_a_sprayer_is_shown_with_its_calibrations(client, dispatcher, calibration):
    client.force_login(dispatcher)

    page = client.get("/sprayers/").content.decode()

    assert "Backpack 1" in page
    assert "hollow cone" in page


def test_a_technician_does_not_change_sprayers(client, technician):
    client.force_login(technician)

    assert client.post("/sprayers/new/", {"name": "Mine"}).status_code == 403
    assert not Sprayer.objects.exists()


def test_an_applicator_is_shown_with_the_certificates(client, dispatcher, applicator):
    client.force_login(dispatcher)

    page = client.get(f"/applicators/{applicator.pk}/").content.decode()

    assert "PA-0007" in page
    assert "Dec\xa031,\xa02027" in page
