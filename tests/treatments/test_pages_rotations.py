"""The pages on which rotations are listed, read and composed."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from clients.models import Planting
from services.models import Course
from treatments.forms.sheet import BLANK_WEEK, moved_up
from treatments.models import ActiveIngredient, Product, Rotation

REASON = "The owner wants soap alone, and the counts are low."


@pytest.fixture
def oil(db):
    """An oil for roses, 1 to 2.5 fl oz in a gallon."""
    product = Product.objects.create(
        name="Still Oil", epa_registration_number="0-102", formulation_code="EC"
    )
    mineral = ActiveIngredient.objects.create(
        name="mineral oil", irac_group="UNM", stages_controlled=["egg"], residual_days=0
    )
    product.contents.create(ingredient=mineral, percent_by_weight=Decimal(98))
    product.rates.create(
        plant_group="rose", minimum=Decimal(1), maximum=Decimal("2.5"), basis="fl oz/gal"
    )
    return product


@pytest.fixture
def miticide(db):
    """A product of IRAC group 6, which may not follow itself without a good reason."""
    product = Product.objects.create(name="Slow Mist", epa_registration_number="0-103")
    abamectin = ActiveIngredient.objects.create(
        name="abamectin", irac_group="6", stages_controlled=["nymph", "adult"]
    )
    product.contents.create(ingredient=abamectin, percent_by_weight=Decimal(2))
    product.rates.create(
        plant_group="rose", minimum=Decimal(1), maximum=Decimal(4), basis="fl oz/gal"
    )
    return product


@pytest.fixture
def rotation(soap, oil, spider_mite, owner):
    """Soap, oil and soap again, a week apart."""
    kept = Rotation.objects.create(
        name="Mites on roses", pest=spider_mite, plant_group="rose", composed_by=owner
    )
    for week, (product, rate) in enumerate([(soap, 3), (oil, 2), (soap, 3)], start=1):
        kept.weeks.create(week=week, product=product, rate=Decimal(rate), basis="fl oz/gal")
    return kept


def week(product, rate="3", **others):
    return {
        **BLANK_WEEK,
        "product": str(product.pk),
        "rate": rate,
        "basis": "fl oz/gal",
        **others,
    }


def sent(pest, *weeks, do="keep", **others):
    """Return the sheet as a browser sends it."""
    form = {
        "do": do,
        "name": "Mites, mildly",
        "pest": pest.pk,
        "plant_group": "rose",
        "first_day": "2026-08-03",
        "weeks": len(weeks),
        **others,
    }
    return form | {
        f"weeks-{place}-{name}": value
        for place, each in enumerate(weeks)
        for name, value in each.items()
    }


def reasons_asked_for(page):
    """Return the names under which the page asks for reasons."""
    return [part.split('"')[0] for part in page.split('<textarea id="')[1:] if "reason-" in part]


def keep(client, form):
    """Send a sheet, and once more with a reason for each warning that it shows."""
    answer = client.post("/rotations/new/", form)
    if answer.status_code == 422:
        asked = dict.fromkeys(reasons_asked_for(answer.content.decode()), REASON)
        answer = client.post("/rotations/new/", form | asked)
    return answer


def test_a_stranger_is_asked_to_sign_in(client, rotation):
    assert client.get("/rotations/").status_code == 302
    assert client.get(f"/rotations/{rotation.pk}/").status_code == 302


def test_a_technician_does_not_see_rotations(client, technician, rotation):
    client.force_login(technician)

    assert client.get("/rotations/").status_code == 403


def test_what_the_office_keeps_is_a_draft_until_somebody_certified_approves_it(
    client, dispatcher, owner, applicator, soap, spider_mite
):
    client.force_login(dispatcher)
    kept = keep(client, sent(spider_mite, *[week(soap)] * 3))
    draft = Rotation.objects.get()
    assert draft.is_draft
    assert "No course goes by it" in client.get(kept["Location"]).content.decode()
    assert client.post(f"/rotations/{draft.pk}/approve/").status_code == 403

    client.force_login(owner)  # who holds no certificate
    client.post(f"/rotations/{draft.pk}/approve/")
    assert Rotation.objects.get().is_draft
    client.force_login(applicator.user)
    assert "Approve this rotation" in client.get(kept["Location"]).content.decode()
    client.post(f"/rotations/{draft.pk}/approve/")

    approved = Rotation.objects.get()
    assert (approved.is_draft, approved.approved_by) == (False, applicator.user)


def test_a_certified_applicator_approves_what_he_keeps(client, applicator, soap, spider_mite):
    client.force_login(applicator.user)

    keep(client, sent(spider_mite, *[week(soap)] * 3))

    assert Rotation.objects.get().approved_by == applicator.user


def test_the_list_shows_the_groups_in_their_order(client, owner, rotation):
    client.force_login(owner)

    assert "– · UNM · –" in client.get("/rotations/").content.decode()


def test_the_list_asks_as_often_for_many_as_for_one(
    client, owner, rotation, soap, spider_mite, count_queries
):
    client.force_login(owner)
    once = count_queries("/rotations/")
    for number in range(3):
        other = Rotation.objects.create(
            name=f"Soap {number}", pest=spider_mite, plant_group="rose", composed_by=owner
        )
        other.weeks.create(week=1, product=soap, rate=Decimal(3), basis="fl oz/gal")

    assert count_queries("/rotations/") == once


def test_a_rotation_shows_group_stages_and_days(client, owner, rotation):
    client.force_login(owner)

    page = client.get(f"/rotations/{rotation.pk}/").content.decode()

    assert "UNM" in page
    assert '<li class="reached">egg' in page
    assert "5 to 9 days after the visit before" in page


def test_a_first_day_gives_each_week_its_dates(client, owner, rotation):
    client.force_login(owner)

    page = client.get(f"/rotations/{rotation.pk}/", {"from": "2026-08-03"}).content.decode()

    # planned a week later, two days earlier or later
    assert "Aug\xa08 – Aug\xa012,\xa02026" in page


@pytest.mark.parametrize("asked", ["yesterday", "2026-13-45"])
def test_an_unreadable_day_is_as_if_none_was_asked_for(client, owner, rotation, asked):
    client.force_login(owner)

    assert client.get(f"/rotations/{rotation.pk}/", {"from": asked}).status_code == 200


def test_a_blank_sheet_has_six_weeks(client, owner, soap):
    client.force_login(owner)

    page = client.get("/rotations/new/").content.decode()

    assert page.count('class="column a-week"') == 6


def test_the_rate_of_the_label_is_shown_beside_the_product(client, owner, soap, spider_mite):
    client.force_login(owner)

    page = client.post(
        "/rotations/new/", sent(spider_mite, *[week(soap)] * 3, do="check")
    ).content.decode()

    assert "The label: 2.5 to 5 fl oz/gal." in page


def test_a_rate_above_the_label_is_refused_beside_its_week(client, owner, soap, spider_mite):
    client.force_login(owner)
    weeks = [week(soap), week(soap, "5.1"), week(soap)]

    answer = client.post("/rotations/new/", sent(spider_mite, *weeks))

    page = answer.content.decode()
    second = page.split('id="notes-2"')[1].split("</ol>")[0]
    assert answer.status_code == 422
    assert "refused" in second
    assert 'value="5.1"' in page
    assert not Rotation.objects.exists()


def test_a_warning_wants_a_reason_typed_beside_it(client, owner, soap, miticide, spider_mite):
    client.force_login(owner)
    form = sent(spider_mite, week(miticide), week(miticide), week(soap))

    first = client.post("/rotations/new/", form)
    kept = keep(client, form)

    assert reasons_asked_for(first.content.decode())
    assert first.status_code == 422
    assert kept.status_code == 302
    assert Rotation.objects.get().accepted_warnings.first().reason == REASON


def test_a_kept_rotation_shows_its_accepted_warnings(client, owner, soap, miticide, spider_mite):
    client.force_login(owner)
    kept = keep(client, sent(spider_mite, week(miticide), week(miticide), week(soap)))

    page = client.get(kept["Location"]).content.decode()

    assert "Warnings accepted" in page
    assert REASON in page


def test_a_week_that_is_not_complete_is_told_of(client, owner, soap, spider_mite):
    client.force_login(owner)

    answer = client.post("/rotations/new/", sent(spider_mite, week(soap), BLANK_WEEK, week(soap)))

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Week 2 is not complete." in page
    assert "A spray has a product and a rate." in page


def test_a_rate_is_in_the_basis_of_the_label_where_it_has_but_one(client, owner, oil, spider_mite):
    client.force_login(owner)
    weeks = [week(oil, "2", basis="")] * 3

    page = client.post("/rotations/new/", sent(spider_mite, *weeks, do="check")).content.decode()
    oil.rates.create(plant_group="rose", minimum=1, maximum=2, basis="fl oz/100 gal")
    twofold = client.post("/rotations/new/", sent(spider_mite, *weeks)).content.decode()

    assert "is not complete" not in page
    assert "Week 2 is not complete." in twofold


def test_weeks_at_the_end_in_which_nothing_was_chosen_are_left_out(
    client, owner, soap, oil, spider_mite
):
    client.force_login(owner)

    answer = client.post(
        "/rotations/new/", sent(spider_mite, *[week(soap)] * 3, BLANK_WEEK, BLANK_WEEK, do="keep")
    )

    assert "is not complete" not in answer.content.decode()


def test_another_week_is_added_without_losing_a_word(client, owner, soap, spider_mite):
    client.force_login(owner)
    form = sent(
        spider_mite,
        *[week(soap, purpose="knock down")] * 3,
        do="another",
        **{"reason-9-gone": "typed before"},
    )

    answer = client.post("/rotations/new/", form)

    page = answer.content.decode()
    assert answer.status_code == 200
    assert page.count('class="column a-week"') == 4
    assert page.count('value="knock down"') == 3
    assert 'name="reason-9-gone" value="typed before"' in page
    assert "put right first" not in page


def test_a_week_is_left_out_and_the_others_move_up(client, owner, soap, oil, spider_mite):
    client.force_login(owner)
    weeks = [week(soap, purpose=f"purpose {number}") for number in range(1, 5)]

    answer = client.post("/rotations/new/", sent(spider_mite, *weeks, do="without 2"))

    page = answer.content.decode()
    assert page.count('class="column a-week"') == 3
    assert "purpose 2" not in page
    assert 'name="weeks-1-purpose" value="purpose 3"' in page


@pytest.mark.parametrize(("weeks", "do"), [(26, "another"), (3, "without 1")])
def test_a_sheet_has_from_three_to_twenty_six_weeks(client, owner, soap, spider_mite, weeks, do):
    client.force_login(owner)

    answer = client.post("/rotations/new/", sent(spider_mite, *[week(soap)] * weeks, do=do))

    assert answer.content.decode().count('class="column a-week"') == weeks


def test_reasons_move_up_with_their_weeks():
    reasons = {"0-whole": "a", "1-x": "b", "2-y": "c", "3-z": "d"}

    assert moved_up(reasons, removed=2) == {"0-whole": "a", "1-x": "b", "2-z": "d"}


def test_plantings_are_asked_when_they_are_named(client, owner, soap, rose_bed, spider_mite):
    Planting.objects.update(plant_group="conifer")
    client.force_login(owner)
    form = sent(spider_mite, *[week(soap)] * 3, do="check", plantings=[rose_bed.pk])

    page = client.post("/rotations/new/", form).content.decode()

    assert f'<option value="{rose_bed.pk}" selected>' in page
    assert "refused" in page


def test_a_check_asks_as_often_for_eight_weeks_as_for_three(
    client, owner, soap, oil, spider_mite, django_assert_max_num_queries
):
    client.force_login(owner)

    for weeks in (3, 8):
        form = sent(spider_mite, *[week(soap), week(oil, "2")] * 4, do="check") | {"weeks": weeks}
        with django_assert_max_num_queries(21):
            client.post("/rotations/new/", form)


def test_a_copy_needs_a_name_of_its_own_and_leaves_the_first(client, owner, rotation):
    client.force_login(owner)

    page = client.get(f"/rotations/{rotation.pk}/copy/").content.decode()

    assert 'value="Mites on roses (copy)"' in page


def test_a_rotation_is_changed_under_its_version(client, owner, rotation, soap, oil, spider_mite):
    client.force_login(owner)
    address = f"/rotations/{rotation.pk}/edit/"
    form = sent(spider_mite, week(soap), week(oil, "2"), week(soap), name="Mites", version=1)

    kept = client.post(address, form)
    stale = client.post(address, form)

    rotation.refresh_from_db()
    assert (kept.status_code, stale.status_code) == (302, 412)
    assert (rotation.name, rotation.version) == ("Mites", 2)


def test_a_rotation_on_a_course_stays_and_another_like_it_is_offered(
    client, owner, rotation, rose_bed
):
    Course.objects.create(property=rose_bed.property, rotation=rotation, first_day="2026-08-03")
    client.force_login(owner)

    answer = client.get(f"/rotations/{rotation.pk}/edit/")

    assert answer["Location"] == f"/rotations/{rotation.pk}/copy/"
    page = client.get(f"/rotations/{rotation.pk}/").content.decode()
    assert "It is on a course" in page
    assert "from Aug\xa03,\xa02026" in page


def test_the_list_tells_the_day_by_the_clock_at_home(client, owner, rotation, library):
    # 02:00 UTC on 7 July is 22:00 on 6 July in Pennsylvania
    Rotation.objects.update(composed_at=datetime(2026, 7, 7, 2, tzinfo=UTC))
    client.force_login(owner)

    assert "Jul\xa06,\xa02026" in client.get("/rotations/").content.decode()
