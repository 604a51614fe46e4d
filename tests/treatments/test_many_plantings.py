"""The pages on which plantings are chosen, in a book with more of them than a page can take."""

import pytest

from clients.models import Planting
from clients.offering import MOST_OFFERED
from treatments.models import Product, Rotation

PAGES = {
    "/mix/": "planting",
    "/mix/hose-end/": "planting",
    "/rotations/propose/": "plantings",
    "/rotations/new/": "plantings",
}


@pytest.fixture
def aspens(rose_bed):
    """So many plantings that come before the rose bed that it is not offered by itself."""
    told = {
        field.attname: field.value_from_object(rose_bed)
        for field in Planting._meta.concrete_fields
        if field.attname not in {"id", "name", "common_name"}
    }
    made = (
        Planting(**told, name=f"Aspen {number:03}", common_name="aspen")
        for number in range(MOST_OFFERED + 40)
    )
    return Planting.objects.bulk_create(made)


@pytest.fixture
def office(client, owner):
    client.force_login(owner)
    return client


def page_of(answer):
    """Return the page of an answer, which is one without a problem."""
    assert answer.status_code == 200
    return answer.content.decode()


def sent(client, address, typed):
    """Return the page after the button that looks for words, as the browser sends the form."""
    typed = typed | {"look": "words"}
    return page_of(client.post(address, typed) if "new" in address else client.get(address, typed))


@pytest.mark.parametrize("address", PAGES)
def test_the_first_are_offered_and_words_find_the_others(office, rose_bed, aspens, address):
    fresh = page_of(office.get(address))
    found = sent(office, address, {"asked": "1", "words": "rose", "product": "", "rate": ""})

    assert fresh.count(">Aspen ") == MOST_OFFERED
    assert "look for others by their words" in fresh
    assert f'<option value="{rose_bed.pk}"' not in fresh
    assert found.count(">Aspen ") == 0
    assert f'<option value="{rose_bed.pk}">' in found
    assert 'value="rose"' in found


@pytest.mark.parametrize(("address", "name"), PAGES.items())
def test_what_is_chosen_stays_when_others_are_looked_for(office, rose_bed, aspens, address, name):
    typed = {"asked": "1", "words": "aspen", name: rose_bed.pk, "product": "", "rate": "2.5"}
    found = sent(office, address, typed)

    assert f'<option value="{rose_bed.pk}" selected>' in found
    assert found.count(">Aspen ") == MOST_OFFERED


def test_looking_keeps_what_was_typed(office, rose_bed, aspens, spider_mite):
    typed = {
        "asked": "1",
        "words": "rose",
        "pest": spider_mite.pk,
        "first_day": "2027-05-03",
        "weeks": "9",
        "organic_only": "on",
    }
    found = page_of(office.get("/rotations/propose/", typed))

    assert 'name="weeks" value="9"' in found
    assert 'value="2027-05-03"' in found
    assert f'<option value="{spider_mite.pk}" selected>' in found
    ticked = [part for part in found.split("<input") if " checked" in part]
    assert [part.split('name="')[1].split('"')[0] for part in ticked] == ["organic_only"]


@pytest.mark.parametrize("address", PAGES)
def test_a_small_book_asks_for_no_words(office, rose_bed, address):
    page = page_of(office.get(address))

    assert 'name="words"' not in page.split("<main", 1)[1]
    assert f'<option value="{rose_bed.pk}">' in page


@pytest.mark.parametrize("address", PAGES)
def test_a_thousand_plantings_ask_as_often(office, rose_bed, address, count_queries, request):
    once = count_queries(address)
    request.getfixturevalue("aspens")

    assert count_queries(address) == once


def test_a_planting_that_is_not_offered_may_be_chosen(
    office, rose_bed, aspens, soap, sprayer, applicator
):
    typed = {"planting": rose_bed.pk, "product": soap.pk, "rate": "3", "sprayer": sprayer.pk}
    page = page_of(office.get("/mix/", typed))

    assert f'<option value="{rose_bed.pk}" selected>' in page
    assert "Pour in" in page


def test_products_without_a_rate_for_site_and_pest_are_not_offered(
    office, soap, spider_mite, owner
):
    Product.objects.create(name="Turf Drench", epa_registration_number="0-105").rates.create(
        plant_group="lawn", minimum=1, maximum=2, basis="fl oz/gal"
    )
    rotation = Rotation.objects.create(
        name="Mites on roses", pest=spider_mite, plant_group="rose", composed_by=owner
    )
    rotation.weeks.create(week=1, product=soap, rate=3, basis="fl oz/gal")

    copied = page_of(office.get(f"/rotations/{rotation.pk}/copy/"))
    fresh = page_of(office.get("/rotations/new/"))

    assert ">Turf Drench<" in fresh
    assert ">Turf Drench<" not in copied
    assert f">{soap.name}<" in copied
    assert "One product is not offered" in copied


def test_a_product_that_was_chosen_stays_for_the_rules_to_refuse(office, spider_mite):
    turf = Product.objects.create(name="Turf Drench", epa_registration_number="0-105")
    typed = {
        "plant_group": "rose",
        "pest": spider_mite.pk,
        "weeks": "3",
        "weeks-1-product": turf.pk,
        "weeks-1-step": "spray",
    }
    page = page_of(office.post("/rotations/new/", typed))

    assert page.count(">Turf Drench<") == 1
    assert f'<option value="{turf.pk}" selected>Turf Drench<' in page
