"""The packet: a crew's stops of today and tomorrow, for its phones and for nobody else."""

import gzip
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from services.models import Packet, Technician, Visit
from tests.services.field.conftest import MORNING
from treatments.models import Product
from treatments.rules.batches import Adjuvant, Limit
from treatments.rules.tanks import plan_mix
from treatments.rules.units import Basis, Unit


def stop_in(answer):
    (stop,) = answer.json()["packet"]["stops"]
    return stop


def test_the_packet_holds_the_stop_with_its_product_and_place(phone, dispatched, oil):
    stop = stop_in(phone.packet())

    assert (stop["visit"], stop["version"]) == (dispatched.pk, dispatched.version)
    assert (stop["zone"], stop["day"]) == ("America/New_York", "2026-07-13")
    assert [product["id"] for product in stop["products"]] == [oil.pk]
    assert stop["texts"]["en"]["place"]["address"] == "2 Shelf Street"


def test_what_is_read_stands_in_both_languages(phone):
    texts = stop_in(phone.packet())["texts"]

    assert set(texts) == {"en", "es"}
    assert texts["en"]["protection"] != texts["es"]["protection"]
    assert texts["es"]["target"]["pest"] == "araña roja de dos puntos"


@pytest.mark.parametrize(
    ("word", "told"), [("CAUTION", "CAUTION / PRECAUCIÓN"), ("", "no signal word")]
)
def test_the_signal_word_is_told_as_on_paper_in_both_languages(phone, oil, word, told):
    # common practice on labels in the United States
    Product.objects.filter(pk=oil.pk).update(signal_word=word)

    assert told in stop_in(phone.packet())["texts"]["en"]["product"]["signal_word"]


def test_another_language_of_its_person_is_news_to_a_phone(phone, technician):
    answer = phone.packet()
    assert answer.json()["packet"]["language"] == "en"

    Technician.objects.filter(user=technician).update(language="es")
    again = phone.packet(**{"If-None-Match": answer["ETag"]})

    assert (again.status_code, again.json()["packet"]["language"]) == (200, "es")


def test_the_mix_can_be_reckoned_again_from_its_inputs(phone):
    (plan,) = stop_in(phone.packet())["mix"]["plans"]
    told = plan["inputs"]

    again = plan_mix(
        rate=Decimal(told["rate"]),
        basis=Basis(told["basis"]),
        maximum_rate=Decimal(told["maximum_rate"]),
        minimum_rate=Decimal(told["minimum_rate"]),
        tank_gallons=Decimal(told["tank_gallons"]),
        spray_gallons=Decimal(told["spray_gallons"]),
        treated_area_sq_ft=Decimal(told["treated_area_sq_ft"]),
        store_unit=Unit(told["store_unit"]),
        limits=[Limit(Decimal(each["maximum"]), Basis(each["basis"])) for each in told["limits"]],
        adjuvants=[
            Adjuvant(each["name"], Decimal(each["rate"]), Basis(each["basis"]))
            for each in told["adjuvants"]
        ],
    )

    measured = [tank.product.measured for tank in again.tanks]
    assert [str(each.amount) for each in measured] == [
        tank["product"]["measured"]["amount"] for tank in plan["tanks"]
    ]


def test_a_packet_that_is_held_already_is_not_sent_again(phone):
    first = phone.packet()

    second = phone.packet(**{"If-None-Match": first["ETag"]})

    assert (second.status_code, second.content) == (304, b"")
    assert Packet.objects.count() == 1


def test_a_change_makes_another_packet(phone, dispatched):
    first = phone.packet()
    Visit.objects.filter(pk=dispatched.pk).update(version=dispatched.version + 1)

    second = phone.packet(**{"If-None-Match": first["ETag"]})

    assert (second.status_code, second["ETag"] != first["ETag"]) == (200, True)


@pytest.mark.parametrize(("days", "stops"), [(-2, 0), (-1, 1), (0, 1), (1, 0)])
def test_today_and_tomorrow_are_those_of_the_property(phone, clock, days, stops):
    clock.move_to(MORNING + timedelta(days=days))

    assert len(phone.packet().json()["packet"]["stops"]) == stops


def test_the_packet_is_sent_packed_and_known_again(phone):
    packed = phone.packet(**{"Accept-Encoding": "gzip"})
    again = phone.packet(**{"Accept-Encoding": "gzip", "If-None-Match": packed["ETag"]})

    assert packed["Content-Encoding"] == "gzip"
    assert len(packed.content) < len(gzip.decompress(packed.content)) / 2
    assert again.status_code == 304


def test_before_midnight_at_the_property_it_is_still_today(phone, clock):
    # 03:59 UTC on the 14th is 23:59 on the 13th in New York
    clock.move_to(MORNING.replace(day=14, hour=3, minute=59))

    assert len(phone.packet().json()["packet"]["stops"]) == 1


@pytest.mark.parametrize(("days", "is_told"), [(-1, False), (0, True)])
def test_the_gate_code_is_told_on_the_day_alone(phone, clock, library, days, is_told):
    library.gate_code = "own-gate-77"
    library.save()
    clock.move_to(MORNING + timedelta(days=days))

    assert ("own-gate-77" in phone.packet().content.decode()) is is_told


def test_another_crews_stop_is_not_in_it(phone_of, applicator, dispatched, second_crew):
    applicator.user.technician.crew = second_crew
    applicator.user.technician.save()

    assert phone_of(applicator.user).packet().json()["packet"]["stops"] == []


def test_who_is_no_phone_gets_none(api, technician, dispatched):
    assert api.get("/api/v1/packet/").status_code == 401

    api.force_login(technician)
    assert api.get("/api/v1/packet/").status_code == 401


def test_more_stops_ask_the_database_hardly_more(phone, dispatched, second_course):
    with CaptureQueriesContext(connection) as few:
        phone.packet()
    other = second_course.visits.get(rotation_week__week=2)
    Visit.objects.filter(pk=other.pk).update(dispatch=dispatched.dispatch, position=2)

    with CaptureQueriesContext(connection) as more:
        assert len(phone.packet().json()["packet"]["stops"]) == 2
    assert len(more) <= len(few) + 8


@pytest.mark.parametrize(("days", "left"), [(400, 2), (401, 1)])
def test_packets_of_long_ago_are_removed_when_another_comes(phone, dispatched, days, left):
    phone.packet()
    Packet.objects.update(first_sent_at=MORNING - timedelta(days=days))
    Visit.objects.filter(pk=dispatched.pk).update(version=dispatched.version + 1)

    phone.packet()

    assert Packet.objects.count() == left


def asked_in(phone):
    texts = stop_in(phone.packet())["texts"]
    return {language: texts[language]["asked"] for language in texts}


def test_the_phone_asks_only_what_its_place_asks(phone, library):
    # [NJAC-7-30-7-3] asks for nothing that is to be typed; [OR-634-146] for who sold the product
    assert asked_in(phone) == {"en": [], "es": []}
    library.jurisdiction = "US-OR"
    library.save()

    asked = asked_in(phone)

    assert asked["en"][-1] == {
        "name": "supplier_name",
        "label": "Bought from",
        "hint": "asked by OR",
        "most": 200,
    }
    assert [each["name"] for each in asked["es"]] == [each["name"] for each in asked["en"]]
    assert asked["es"][-1]["label"] != "Bought from"


def test_a_crew_with_sprayers_names_one_and_a_crew_without_says_what_it_used(phone, library, crew):
    # [OR-634-146] asks for the equipment
    library.jurisdiction = "US-OR"
    library.save()
    sprayers = list(crew.truck.sprayers.all())
    named = {each["name"] for each in asked_in(phone)["en"]}
    crew.truck.sprayers.clear()

    said = {each["name"] for each in asked_in(phone)["en"]}

    assert sprayers
    assert said - named == {"method"}


def standing(phone):
    (first, *_rest) = stop_in(phone.packet())["people"]
    return first


def test_a_certificate_that_holds_there_that_day_is_told_by_its_number(phone, applicator):
    found = standing(phone)

    assert (found["id"], found["is_certified"], found["number"]) == (applicator.pk, True, "PA-0007")
    assert (found["alone"], found["over"]) == ([], [])


@pytest.mark.parametrize(
    ("changes", "is_certified", "words"),
    [
        ({"expires_on": date(2026, 7, 12)}, False, "expires on"),
        ({"jurisdiction": "US-NY"}, False, "Nobody here holds a certificate of Pennsylvania"),
        ({"suspended_from": date(2026, 7, 13)}, False, "is suspended from"),
        ({"categories": ["aquatic"]}, True, "needs the category"),
        ({"own_property_only": True}, True, "owns or rents"),
    ],
)
def test_what_stands_against_a_certificate_is_told_ahead(
    phone, applicator, changes, is_certified, words
):
    # [40CFR171-101] a certificate counts by category and place
    applicator.certificates.update(**changes)

    found = standing(phone)

    (over,) = found["over"]
    assert found["is_certified"] is is_certified
    assert (over["severity"], words in over["en"], over["es"] != over["en"]) == (
        "refusal",
        True,
        True,
    )


@pytest.mark.parametrize(("restricted", "severity"), [(True, "refusal"), (False, "warning")])
def test_who_was_not_trained_is_told_so_at_the_stop(phone, oil, applicator, restricted, severity):
    # [40CFR171-201] trained within the last twelve months before applying under supervision
    applicator.certificates.update(jurisdiction="US-NY")
    Product.objects.filter(pk=oil.pk).update(restricted_use=restricted)

    (found,) = standing(phone)["alone"]

    assert found["severity"] == severity
    assert "no proof" in found["en"]


def test_a_limited_certificate_tells_its_limits_at_the_stop(phone, oil, applicator, library):
    # [FL-482] products that say CAUTION, by hand or from the back
    library.jurisdiction = "US-FL"
    library.save()
    Product.objects.filter(pk=oil.pk).update(signal_word="WARNING")
    applicator.certificates.update(jurisdiction="US-FL", is_limited=True)

    assert any("only products that say CAUTION" in each["en"] for each in standing(phone)["alone"])
