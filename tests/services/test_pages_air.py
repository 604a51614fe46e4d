"""Whether the air lets anybody spray: the page without a visit, and the signs on the spot."""

import pytest
from django.urls import reverse

AIR = {"wind_mph": "5", "temperature_f": "68", "humidity_percent": "50", "hours_to_rain": "24"}


@pytest.fixture
def look(client, dispatcher):
    """Look at an air as the office does."""
    client.force_login(dispatcher)
    return lambda **told: client.get(reverse("services:air"), AIR | told)


def test_delta_t_is_told_as_the_published_formula_has_it(look):
    # 20 C and 50 percent: a wet bulb of 13.7, so 6.3 [JAMC-2011], which is good to 0.3
    looked = look().context["looked"]

    assert looked.delta_t_c == pytest.approx(6.3, abs=0.3)
    assert looked.verdict == []


@pytest.mark.parametrize(
    ("wind", "code"), [("2.9", "still-air"), ("3", None), ("10.1", "wind-high")]
)
def test_the_wind_is_held_against_its_limits(look, wind, code):
    # 3 to 8 mph advised [PES-DRIFT]; above 10 common practice stops
    codes = [finding.code for finding in look(wind_mph=wind).context["looked"].verdict]

    assert codes == ([code] if code else [])


def test_a_sign_of_still_air_is_told_with_its_reason(look):
    answer = look(wind_mph="2", signs=["FOG_DEW_OR_FROST"])

    assert "Sign of an inversion: fog, dew or frost" in answer.content.decode()


def test_a_steady_wind_under_solid_cloud_takes_the_sign_away(look):
    verdict = look(signs=["SMOKE_HANGS"], solid_cloud="on").context["looked"].verdict

    assert verdict == []


def test_a_product_brings_its_label(look, soap):
    soap.wind_maximum_mph = 4
    soap.save()

    codes = [each.code for each in look(product=soap.pk).context["looked"].verdict]

    assert codes == ["wind-above-label"]


def test_an_air_that_cannot_be_keeps_what_was_typed(look):
    answer = look(humidity_percent="101")

    assert answer.status_code == 422
    assert 'value="101"' in answer.content.decode()


def test_before_anything_is_typed_only_the_form_is_shown(client, dispatcher):
    client.force_login(dispatcher)

    assert client.get(reverse("services:air")).context["looked"] is None


def test_signs_ticked_on_the_spot_stand_in_the_verdict(client, owner, visits, on_monday):
    client.force_login(owner)
    address = reverse("services:check_visit", args=[visits[0].pk])
    ticked = {**AIR, "wind_mph": "2", "signs": ["SMELLS_CARRY"]}

    page = client.post(address, ticked, headers={"HX-Request": "true"}).content.decode()

    assert "Sign of an inversion: smells or voices that carry far" in page


def test_a_program_tells_the_signs_too(api, owner, visits, on_monday):
    api.force_authenticate(owner)
    told = {"conditions": {"wind_mph": "2"}, "signs": ["CALM_CLEAR"]}

    answer = api.post(f"/api/v1/visits/{visits[0].pk}/check/", told, format="json")

    assert "inversion" in [finding["code"] for finding in answer.json()["findings"]]
