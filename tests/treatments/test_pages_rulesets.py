"""The pages of the rules: what a place asks, what is not verified, what the owner decides."""

import pytest
import time_machine

from treatments.models import FactConfirmed, OwnRuleSet, RuleChoice

pytestmark = pytest.mark.django_db
OWN = {
    "name": "Our county's rule",
    "citation": "County code 1-2",
    "valid_from": "2026-07-01",
    "required_fields": ["application_date", "product_name"],
    "record_deadline_hours": "12",
    "retention_years": "10",
}


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel("2026-07-06T12:00:00Z", tick=False):
        yield


def page_of(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode().replace("\u00a0", " ")


def test_the_list_begins_with_the_places_of_the_business(client, owner, library):
    client.force_login(owner)

    page = page_of(client, "/rules/")

    assert page.index("Pennsylvania") < page.index("Elsewhere") < page.index("New Jersey")
    assert page.index("Former rules") < page.index("7 CFR 110.3")


def test_a_place_without_rules_says_so(client, owner, library):
    library.jurisdiction = "US-NV"
    library.save()
    client.force_login(owner)

    assert "no rules known" in page_of(client, "/rules/")
    assert "strictest that are known" in page_of(client, "/rules/US-NV/")


def test_a_fact_shows_its_citation_and_what_is_not_verified(client, dispatcher):
    client.force_login(dispatcher)

    page = page_of(client, "/rules/US-NJ/")

    assert page.count("N.J.A.C. 7:30-7.3") == 1  # it stands over all facts
    assert "NJAC-7-30-7-3" in page
    assert "from memory, not verified" in page  # the 24 hours stand so in the table [NJAC-7-30-7-3]


def test_what_is_not_known_is_never_no_duty(client, dispatcher):
    client.force_login(dispatcher)

    assert "which is no leave to do without" in page_of(client, "/rules/US-NJ/")


def test_only_the_owner_decides(client, dispatcher):
    client.force_login(dispatcher)

    assert "Compare with the code" not in page_of(client, "/rules/US-NJ/")
    assert client.post("/rules/US-NJ/choose/", {}).status_code == 403


def test_the_owner_confirms_facts_against_the_code(client, owner):
    client.force_login(owner)
    typed = {
        "facts": ["record_deadline_hours"],
        "compared_on": "2026-07-05",
        "compared_with": "N.J.A.C. 7:30-7.3(b) as published",
    }

    answer = client.post("/rules/US-NJ/confirm/", typed)

    assert answer.status_code == 302
    assert FactConfirmed.objects.get().fact == "record_deadline_hours"
    assert "confirmed against the code on Jul 5, 2026 by owner" in page_of(client, "/rules/US-NJ/")


def test_a_day_to_come_is_refused(client, owner):
    client.force_login(owner)
    typed = {"facts": ["retention_years"], "compared_on": "2026-07-07", "compared_with": "x"}

    answer = client.post("/rules/US-NJ/confirm/", typed)

    assert answer.status_code == 422
    assert "still to come" in answer.content.decode()


def test_the_owner_enters_a_rule_set_and_works_under_it(client, owner, library):
    client.force_login(owner)
    client.post("/rules/US-PA/own/", OWN)
    choice = {"uses": "own", "holds_from": "2026-07-01"}

    answer = client.post("/rules/US-PA/choose/", choice, follow=True)

    page = answer.content.decode()
    assert OwnRuleSet.objects.get().entered_by == owner
    assert RuleChoice.objects.get().uses == "own"
    assert "County code 1-2" in page
    assert "asks for these as well:" in page


def test_own_rules_that_were_not_entered_cannot_be_chosen(client, owner, library):
    client.force_login(owner)

    answer = client.post("/rules/US-PA/choose/", {"uses": "own", "holds_from": "2026-07-06"})

    assert answer.status_code == 422
    assert "Enter it first" in answer.content.decode()


def test_a_federal_rule_set_is_not_chosen_and_an_unknown_place_is_not_there(client, owner):
    client.force_login(owner)

    assert client.post("/rules/US-RUP/choose/", {}).status_code == 404
    assert client.get("/rules/US-RUP/").status_code == 200
    assert client.get("/rules/US-ZZ/").status_code == 404


def test_the_list_asks_the_database_no_more_for_more_places(
    client, owner, library, reading_society, count_queries
):
    client.force_login(owner)
    few = count_queries("/rules/")
    for region in ("NV", "UT", "KS"):
        library.pk, library.name, library.jurisdiction = None, region, f"US-{region}"
        library.save(force_insert=True)

    assert count_queries("/rules/") == few
