"""Names of the cited tables come into a new book, once, and never over what somebody wrote."""

import pytest

from treatments.models import ActiveIngredient, Pest
from treatments.naming import take_in_known_names

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
