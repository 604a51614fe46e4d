"""Every form is set in one column, with units, and keeps what was typed."""

from datetime import date, datetime
from decimal import Decimal

import pytest
from django import forms


class CountForm(forms.Form):
    """A count with a field of each kind that is set in a way of its own."""

    counted_on = forms.DateField(label="day of the count", help_text="The day, not the hour.")
    seen_at = forms.DateTimeField(required=False)
    leaves = forms.IntegerField(step_size=1)
    mix_gallons = forms.DecimalField()
    gallons_per_1000_sq_ft = forms.DecimalField(required=False)
    rate = forms.DecimalField(required=False)
    bees = forms.BooleanField(label="bees were at work", required=False)


@pytest.fixture
def refused():
    """A form that was sent with a word where a number belongs."""
    return CountForm({"counted_on": "2026-05-18", "leaves": "20", "mix_gallons": "twelve"})


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("mix_gallons", "gallons"),
        ("gallons_per_1000_sq_ft", "gallons in 1,000 sq ft"),
        ("rate", ""),
        ("counted_on", ""),
    ],
)
def test_the_unit_is_read_from_the_end_of_the_name(name, unit):
    assert CountForm()[name].unit() == unit


def test_a_unit_of_its_own_goes_before_the_name():
    form = CountForm()
    form.fields["rate"].unit = "fl oz/gal"

    assert form["rate"].unit() == "fl oz/gal"


def test_the_hint_stands_before_the_field():
    page = str(CountForm())

    assert page.index("The day, not the hour.") < page.index('name="counted_on"')


def test_dates_are_picked_in_the_form_the_browser_wants():
    initial = {"counted_on": date(2026, 5, 18), "seen_at": datetime(2026, 5, 18, 19, 42)}  # noqa: DTZ001
    form = CountForm(initial=initial)

    assert 'type="date" name="counted_on" value="2026-05-18"' in str(form["counted_on"])
    assert 'type="datetime-local" name="seen_at" value="2026-05-18T19:42"' in str(form["seen_at"])


def test_what_was_typed_is_kept_even_when_it_is_no_number(refused):
    assert refused["mix_gallons"].errors
    assert 'type="text" name="mix_gallons" value="twelve"' in str(refused["mix_gallons"])


def test_the_list_at_the_top_leads_to_the_field_that_is_wrong(refused):
    page = str(refused)

    assert "One thing is to be put right first." in page
    assert '<a href="#id_mix_gallons">Mix gallons</a>' in page
    assert 'id="id_mix_gallons_error"' in page


def test_a_number_with_a_step_has_buttons_on_either_side():
    assert CountForm()["leaves"].has_steps()
    assert not CountForm()["mix_gallons"].has_steps()


def test_a_box_to_tick_stands_within_its_label():
    assert CountForm()["bees"].is_tick()
    assert '<label for="id_bees"><input type="checkbox"' in CountForm()["bees"].as_field_group()


class ChoiceForm(forms.Form):
    """A choice that must be made, one that need not, and a long text."""

    basis = forms.ChoiceField(choices=[("", "---------"), ("acre", "an acre")])
    other = forms.ChoiceField(choices=[("", "---------"), ("acre", "an acre")], required=False)
    note = forms.CharField(widget=forms.Textarea)


def test_where_nothing_is_chosen_stands_a_word_and_no_row_of_hyphens():
    page = str(ChoiceForm())

    assert "---" not in page
    assert '<option value="" selected>choose</option>' in page
    assert '<option value="" selected>–</option>' in page


def test_a_kept_amount_stands_without_needless_zeros():
    form = CountForm(initial={"mix_gallons": Decimal("25.000"), "rate": Decimal("0.250")})

    assert 'value="25"' in str(form["mix_gallons"])
    assert 'value="0.25"' in str(form["rate"])


def test_what_was_typed_stands_as_it_was_typed(refused):
    sent = CountForm({**refused.data, "mix_gallons": "25.000"})

    assert 'value="25.000"' in str(sent["mix_gallons"])


def test_a_unit_after_the_field_stands_not_in_its_name_as_well():
    form = CountForm()
    form["mix_gallons"].label = "mix (gal)"

    assert form["mix_gallons"].title() == "mix"
