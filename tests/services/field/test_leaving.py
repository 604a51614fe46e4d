"""A phone signs out by itself: it opens nothing from then on."""

from services.field.auth import COOKIE


def test_a_phone_that_leaves_opens_nothing_any_more(phone):
    answer = phone.api.post("/api/v1/leaving/", headers={"X-Phone": str(phone.device.pk)})

    assert answer.status_code == 204
    assert answer.cookies[COOKIE].value == ""
    phone.api.cookies[COOKIE] = phone.token
    assert phone.packet().status_code == 401


def test_a_request_that_does_not_name_the_phone_does_not_sign_it_out(phone):
    assert phone.api.post("/api/v1/leaving/").status_code == 403
    assert phone.packet().status_code == 200
