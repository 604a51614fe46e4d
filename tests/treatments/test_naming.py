"""Names of the cited tables come into a new book, once, and never over what somebody wrote."""

from decimal import Decimal

import pytest
from django.utils.translation import gettext, override

from treatments.models import ActiveIngredient, Pest
from treatments.naming import in_words, take_in_known_names
from treatments.rules.egg_reach import reach_of_eggs

pytestmark = pytest.mark.django_db


def test_a_new_book_knows_the_mite_by_the_names_of_the_trade():
    take_in_known_names()

    mite = Pest.objects.get(common_name="two-spotted spider mite")
    assert mite.scientific_name == "Tetranychus urticae"
    assert mite.eppo_code == "TETRUR"  # EPPO Global Database


@pytest.mark.parametrize(
    # IRAC Mode of Action Classification Scheme, from memory
    ("name", "group"),
    [("abamectin", "6"), ("bifenazate", "20D"), ("hexythiazox", "10A"), ("imidacloprid", "4A")],
)
def test_a_new_book_knows_how_an_ingredient_works(name, group):
    take_in_known_names()

    assert ActiveIngredient.objects.get(name=name).irac_group == group


def test_twice_adds_nothing_and_changes_nothing():
    Pest.objects.create(
        common_name="azalea lace bug", scientific_name="Stephanitis pyrioides", threshold=1
    )
    take_in_known_names()
    known = Pest.objects.count(), ActiveIngredient.objects.count()
    take_in_known_names()

    assert (Pest.objects.count(), ActiveIngredient.objects.count()) == known
    assert Pest.objects.get(common_name="azalea lace bug").threshold == 1


@pytest.mark.parametrize(
    ("english", "spanish"),
    [
        ("two-spotted spider mite", "araña roja de dos puntos"),
        ("privet bud mite", "ácaro de la yema del aligustre"),  # of a business's own, invented
    ],
)
def test_what_is_said_of_eggs_names_the_pest_in_the_readers_language(english, spanish):
    pest = Pest(common_name=english, spanish_name=spanish, scientific_name="Tetranychus urticae")
    warm = Decimal(68)

    finding = reach_of_eggs(pest.named(), pest.scientific_name, warm, warm).finding

    with override("es"):
        said = finding.say(gettext, in_words)
    assert spanish in said
    assert english not in said
    assert english in finding.say()
