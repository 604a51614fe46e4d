"""A rotation is kept only without a refusal, and with a reason for each warning."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from services.models import Course
from treatments.composing import FindingsStand, copied_weeks, copy_rotation, keep_rotation
from treatments.models import ActiveIngredient, Product, Rotation, RotationWeek

FIRST_DAY = date(2026, 7, 20)
TODAY = date(2026, 7, 10)


def spray(week, product, rate=3, **others):
    return RotationWeek(week=week, product=product, rate=Decimal(rate), basis="fl oz/gal", **others)


@pytest.fixture
def miticide(soap):
    """A product of group 6, which twice in a row is warned of."""
    product = Product.objects.create(
        name="Slow Mite Stop", epa_registration_number="0-104", formulation_code="EC"
    )
    active = ActiveIngredient.objects.create(name="abamectin", irac_group="6")
    product.contents.create(ingredient=active, percent_by_weight=Decimal(2))
    product.rates.create(
        plant_group="rose", minimum=Decimal("0.1"), maximum=Decimal(1), basis="fl oz/gal"
    )
    return product


@pytest.fixture
def keep(spider_mite, dispatcher):
    def kept(weeks, **others):
        told = {
            "name": "Soap first",
            "pest": spider_mite,
            "plant_group": "rose",
            "by": dispatcher,
            "first_day": FIRST_DAY,
            "today": TODAY,
        }
        return keep_rotation(weeks=weeks, **told | others)

    return kept


def test_a_rotation_is_kept_with_its_weeks(keep, soap, dispatcher):
    rotation = keep([spray(1, soap), RotationWeek(week=2, step="wash"), spray(3, soap)])

    steps = list(rotation.weeks.values_list("week", "step"))
    assert steps == [(1, "spray"), (2, "wash"), (3, "spray")]
    assert (rotation.composed_by, rotation.version) == (dispatcher, 1)


def test_a_refusal_keeps_nothing_and_carries_its_findings(keep, soap):
    with pytest.raises(FindingsStand) as stands:
        keep([spray(1, soap, rate="5.001")])

    assert stands.value.code == "refused"
    assert [finding.code for finding in stands.value.findings] == ["rate-above-label"]
    assert not Rotation.objects.exists()


def test_the_labels_highest_rate_is_not_refused(keep, soap):
    assert keep([spray(1, soap, rate=5)]).weeks.count() == 1


@pytest.mark.parametrize("reasons", [{}, {"2-group-repeated": "  "}])
def test_a_warning_asks_for_its_reason(keep, miticide, reasons):
    with pytest.raises(FindingsStand, match="Say why 1 warning is accepted") as stands:
        keep([spray(1, miticide, rate=1), spray(2, miticide, rate=1)], reasons=reasons)

    assert stands.value.code == "reason_missing"
    assert [finding.code for finding in stands.value.findings] == ["group-repeated"]


def test_an_accepted_warning_is_kept_with_who_and_why(keep, miticide, dispatcher):
    rotation = keep(
        [spray(1, miticide, rate=1), spray(2, miticide, rate=1)],
        reasons={"2-group-repeated": "The eggs hatch between the two."},
    )

    warning = rotation.accepted_warnings.get()
    assert (warning.week, warning.code, warning.accepted_by) == (2, "group-repeated", dispatcher)
    assert "group 6 again" in warning.sentence
    assert warning.reason == "The eggs hatch between the two."


def test_a_planting_is_asked_as_well_when_it_is_named(keep, soap, rose_bed):
    with pytest.raises(FindingsStand) as stands:
        keep([spray(1, soap)], plantings=[rose_bed])

    assert "no-certificate" in {finding.code for finding in stands.value.findings}


@pytest.mark.parametrize("numbers", [[], [2], [1, 3], [1, 1]])
def test_weeks_are_numbered_without_a_gap(keep, soap, numbers):
    with pytest.raises(ValidationError, match="without a gap"):
        keep([spray(number, soap) for number in numbers])


def test_a_spray_without_a_rate_is_told_with_its_week(keep, soap):
    with pytest.raises(ValidationError, match="Week 1: A spray has a product and a rate"):
        keep([RotationWeek(week=1, product=soap)])


def test_a_site_is_one_that_labels_name(keep, soap):
    with pytest.raises(ValidationError, match="as labels name them"):
        keep([spray(1, soap)], plant_group="greenhouse")


def test_a_changed_rotation_has_only_its_new_weeks(keep, soap):
    rotation = keep([spray(1, soap), spray(2, soap)])

    again = keep([spray(1, soap, rate=4)], rotation=rotation, version=1)

    assert again == rotation
    assert again.version == 2
    assert [week.rate for week in again.weeks.all()] == [4]


def test_who_opened_an_older_version_is_told(keep, soap):
    rotation = keep([spray(1, soap)])
    keep([spray(1, soap, rate=4)], rotation=rotation, version=1)

    with pytest.raises(ValidationError) as refused:
        keep([spray(1, soap, rate=5)], rotation=rotation, version=1)

    assert refused.value.code == "stale"
    assert rotation.weeks.get().rate == 4


def test_a_refused_change_leaves_the_rotation_as_it_was(keep, soap):
    rotation = keep([spray(1, soap)])

    with pytest.raises(FindingsStand):
        keep([spray(1, soap, rate=6)], rotation=rotation, version=1)

    rotation.refresh_from_db()
    assert (rotation.version, rotation.weeks.get().rate) == (1, 3)


def test_a_rotation_on_a_course_is_not_changed(keep, soap, library):
    rotation = keep([spray(1, soap)])
    Course.objects.create(property=library, rotation=rotation, first_day=FIRST_DAY)

    with pytest.raises(ValidationError, match="Compose another like it") as refused:
        keep([spray(1, soap, rate=4)], rotation=rotation)

    assert refused.value.code == "in_use"


def test_a_copy_has_the_weeks_and_the_reasons(keep, miticide, dispatcher):
    rotation = keep(
        [spray(1, miticide, rate=1), spray(2, miticide, rate=1, purpose="hatch")],
        reasons={"2-group-repeated": "The eggs hatch between the two."},
    )

    copy = copy_rotation(rotation, name="Another", by=dispatcher, first_day=FIRST_DAY, today=TODAY)

    assert [week.purpose for week in copy.weeks.all()] == ["", "hatch"]
    assert copy.accepted_warnings.get().reason == "The eggs hatch between the two."
    assert [week.pk for week in copied_weeks(rotation)] == [None, None]


def test_a_copy_needs_a_name_of_its_own(keep, soap, dispatcher):
    rotation = keep([spray(1, soap)])

    with pytest.raises(ValidationError) as refused:
        copy_rotation(rotation, name="Soap first", by=dispatcher, first_day=FIRST_DAY)

    assert "name" in refused.value.error_dict
