"""Site, pest, rate and totals against the label."""

from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.facts import PastApplication, RateFacts
from treatments.rules.findings import Severity
from treatments.rules.labels import (
    check_amount,
    check_organic,
    check_rate,
    check_site,
    check_totals,
)


def test_a_site_that_the_label_does_not_list_is_refused(a_week, a_planting):
    # [WAC-16-228-1225] [7USC136] the site must be named
    (finding,) = check_site(a_week(), a_planting(plant_group="lawn"))

    assert finding.severity is Severity.REFUSAL
    assert "does not list lawn" in finding.say()
    assert "lists lawn" in finding.say_remedy()


def test_a_pest_that_the_label_does_not_list_is_only_noted(a_week, a_planting, a_product):
    # [WAC-16-228-1225] a pest not named is allowed where the site is named
    aphids = RateFacts("rose", "aphids", Decimal(1), Decimal(2), "fl oz/gal")

    (finding,) = check_site(a_week(product=a_product(rates=(aphids,))), a_planting())

    assert finding.severity is Severity.NOTE


def test_a_rate_for_any_pest_lists_every_pest(a_week, a_planting):
    assert check_site(a_week(), a_planting()) == []


def test_a_plant_that_the_label_forbids_is_refused(a_week, a_planting, a_product):
    product = a_product(plants_excluded=("Rosa rugosa",))

    (finding,) = check_site(a_week(product=product), a_planting(species="Rosa rugosa"))

    assert finding.code == "plant-excluded"


@pytest.mark.parametrize(
    ("rate", "severity"),
    [
        ("0.99", Severity.NOTE),
        ("1", None),
        ("2", None),
        ("2.01", Severity.REFUSAL),
        ("0", Severity.REFUSAL),
        ("-1", Severity.REFUSAL),
    ],
)
def test_more_than_the_label_is_refused_and_less_is_noted(a_week, rate, severity):
    # [WAC-16-228-1225] a lower rate is allowed, a higher never
    findings = check_rate(a_week(rate=Decimal(rate)), "rose")

    assert [finding.severity for finding in findings] == ([severity] if severity else [])


def test_a_rate_on_another_basis_is_held_against_the_same_label(a_week):
    # one pint is 16 fluid ounces and 100 gallons are 100 gallons: 12.5 pt/100 gal is 2 fl oz/gal
    at_limit = a_week(rate=Decimal("12.5"), basis="pt/100 gal")
    above = a_week(rate=Decimal("12.6"), basis="pt/100 gal")

    assert check_rate(at_limit, "rose") == []
    assert check_rate(above, "rose")[0].code == "rate-above-label"


def test_a_rate_that_cannot_be_compared_is_refused(a_week):
    (finding,) = check_rate(a_week(basis="fl oz/1000 ft2"), "rose")

    assert finding.code == "rate-basis-differs"
    assert finding.say_remedy() == "Give the rate in fl oz/gal."


def test_a_rate_that_names_the_pest_goes_before_the_general_one(a_week, a_product):
    mites = RateFacts("rose", "mites", Decimal(1), Decimal("1.5"), "fl oz/gal")
    product = a_product(rates=(*a_product().rates, mites))

    (finding,) = check_rate(a_week(product=product, pest="mites", rate=Decimal(2)), "rose")

    assert finding.facts["limit"] == Decimal("1.5")


def test_a_rate_for_another_pest_is_not_the_general_one(a_week, a_product):
    # [WAC-16-228-1225] a higher rate than the label gives for the pest is never allowed
    mites = RateFacts("rose", "mites", Decimal(1), Decimal(4), "fl oz/gal")
    product = a_product(rates=(*a_product().rates, mites))

    (finding,) = check_rate(a_week(product=product, pest="aphids", rate=Decimal(3)), "rose")

    assert finding.facts["limit"] == 2


def test_only_a_listed_product_goes_on_an_organic_planting(a_product, a_planting):
    # [7CFR205-601] listing is a matter of the formulation
    organic = a_planting(organic_only=True)

    assert check_organic(a_product(organic_listed=True), organic) == []
    assert check_organic(a_product(), organic)[0].severity is Severity.REFUSAL


@pytest.mark.parametrize(("amount", "refused"), [("4", False), ("4.01", True)])
def test_the_most_at_once_is_the_labels(a_week, a_product, amount, refused):
    product = a_product(maximum_amount_per_application=Decimal(4))

    findings = check_amount(a_week(product=product, amount_per_1000_sq_ft=Decimal(amount)))

    assert bool(findings) is refused


def test_an_amount_that_is_not_known_is_said(a_week, a_product):
    product = a_product(maximum_amount_per_application=Decimal(4))

    (finding,) = check_amount(a_week(product=product))

    assert finding.code == "amount-unknown"


def test_the_number_a_year_counts_the_records(a_week, a_product):
    product = a_product(maximum_applications_per_year=2)
    history = [
        PastApplication(date(2026, 4, 1), product),
        PastApplication(date(2025, 9, 1), product),
    ]
    weeks = [a_week(1, date(2026, 6, 1), product), a_week(2, date(2026, 6, 8), product)]

    (finding,) = check_totals(weeks, history)

    assert (finding.code, finding.week) == ("too-many-applications", 2)
    assert "application 3 of" in finding.say()


def test_a_new_year_counts_anew(a_week, a_product):
    product = a_product(maximum_applications_per_year=1)
    weeks = [a_week(1, date(2026, 12, 31), product), a_week(2, date(2027, 1, 1), product)]

    assert check_totals(weeks) == []


@pytest.mark.parametrize(("past", "refused"), [("6", False), ("6.1", True)])
def test_the_total_a_year_counts_the_records(a_week, a_product, past, refused):
    product = a_product(maximum_amount_per_year=Decimal(10))
    history = [PastApplication(date(2026, 4, 1), product, Decimal(past))]

    findings = check_totals([a_week(product=product, amount_per_1000_sq_ft=Decimal(4))], history)

    assert bool(findings) is refused


def test_a_planned_amount_that_is_not_known_is_said_and_counts_as_nothing(a_week, a_product):
    # nothing, 4 and 4 are 8
    product = a_product(maximum_amount_per_year=Decimal(8))
    weeks = [
        a_week(1, date(2026, 6, 1), product),
        a_week(2, date(2026, 6, 8), product, amount_per_1000_sq_ft=Decimal(4)),
        a_week(3, date(2026, 6, 15), product, amount_per_1000_sq_ft=Decimal(4)),
    ]

    findings = check_totals(weeks)

    assert [(each.code, each.week) for each in findings] == [("amount-unknown", 1)]


def test_an_amount_that_two_limits_want_is_asked_for_once(a_week, a_product):
    product = a_product(
        maximum_amount_per_year=Decimal(8), maximum_amount_per_application=Decimal(4)
    )
    week = a_week(product=product)

    assert [each.code for each in (*check_amount(week), *check_totals([week]))] == [
        "amount-unknown"
    ]


def test_a_past_amount_that_is_not_known_is_said(a_week, a_product):
    product = a_product(maximum_amount_per_year=Decimal(10))
    week = a_week(product=product, amount_per_1000_sq_ft=Decimal(4))

    (finding,) = check_totals([week], [PastApplication(date(2026, 4, 1), product)])

    assert finding.code == "past-amount-unknown"
