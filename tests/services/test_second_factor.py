"""One-time codes of a person: turned on by a right one, taken once, counted, turned off."""

import logging
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client as Browser

from services import second_factor
from services.models import Authenticator, RecoveryCode
from services.people import set_password
from services.rules.one_time_codes import code_at
from services.second_factor import TooManyCodes, new_seed, secret_of, take_code, turn_on
from services.whole_book.tables import json_of, tables

NOON = datetime(2026, 7, 13, 16, tzinfo=UTC)
STEP = timedelta(seconds=30)
LATER = NOON + 10 * STEP


def code_of(person, moment):
    """Return what the phone of a person shows at a moment."""
    return code_at(secret_of(person, person.authenticator.seed), int(moment.timestamp()))


def with_codes(person, now=NOON):
    """Turn a person's codes on; return the recovery codes."""
    seed = new_seed()
    code = code_at(secret_of(person, seed), int(now.timestamp()))
    return turn_on(person, seed, code, now=now)


@pytest.fixture
def paper(owner):
    """The recovery codes of the owner, whose codes are on."""
    return with_codes(owner)


def test_codes_are_on_by_a_right_one_alone(owner):
    seed = new_seed()
    wrong = f"{(int(code_at(secret_of(owner, seed), int(NOON.timestamp()))) + 1) % 1_000_000:06}"

    with pytest.raises(ValidationError) as refused:
        turn_on(owner, seed, wrong, now=NOON)

    assert "one_time_code" in refused.value.message_dict
    assert not second_factor.is_on(owner)


def test_twice_turned_on_they_are_on_by_the_first(owner, paper):
    first = Authenticator.objects.get().seed

    with pytest.raises(ValidationError, match="on already"):
        with_codes(owner, LATER)

    assert Authenticator.objects.get().seed == first
    assert RecoveryCode.objects.count() == 10


def test_the_code_that_turned_them_on_signs_nobody_in(owner, paper):
    assert not take_code(owner, code_of(owner, NOON), now=NOON)


@pytest.mark.parametrize(("steps", "is_right"), [(-2, 0), (-1, 1), (0, 1), (1, 1), (2, 0)])
def test_a_code_of_one_step_before_or_after_is_taken(owner, paper, steps, is_right):
    assert take_code(owner, code_of(owner, LATER + steps * STEP), now=LATER) == bool(is_right)


def test_a_code_is_taken_once_and_none_of_an_earlier_step_after_it(owner, paper):
    code, before = code_of(owner, LATER), code_of(owner, LATER - STEP)

    taken = [take_code(owner, each, now=LATER) for each in (code, code, before)]

    assert taken == [True, False, False]


def test_a_code_may_be_typed_with_gaps(owner, paper):
    code = code_of(owner, LATER)

    assert take_code(owner, f" {code[:3]} {code[3:]} ", now=LATER)


def test_a_recovery_code_is_taken_once(owner, paper):
    small = " ".join([paper[0][:4], paper[0][4:]]).lower()

    taken = [take_code(owner, each, now=LATER) for each in (small, paper[0], paper[1])]

    assert taken == [True, False, True]
    assert second_factor.recovery_codes_left(owner) == 8


def test_recovery_codes_are_ten_of_120_bits_and_not_kept(owner, paper):
    # ASVS 5.0.0, 6.5.2: a plain digest may be kept from 112 bits on
    kept = "".join(RecoveryCode.objects.values_list("digest", flat=True))

    assert len(set(paper)) == 10
    assert {len(code) for code in paper} == {24}
    assert all(code not in kept for code in paper)


def test_made_anew_the_former_recovery_codes_open_nothing(owner, paper):
    anew = second_factor.renew_recovery_codes(owner)

    assert not take_code(owner, paper[0], now=LATER)
    assert take_code(owner, anew[0], now=LATER)
    assert not set(paper) & set(anew)


def test_anothers_code_is_none_of_mine(owner, dispatcher, paper):
    others = with_codes(dispatcher)

    assert not take_code(owner, code_of(dispatcher, LATER), now=LATER)
    assert not take_code(owner, others[0], now=LATER)
    assert take_code(dispatcher, others[0], now=LATER)


def test_of_who_has_no_codes_none_is_right(dispatcher):
    assert not take_code(dispatcher, "000000", now=LATER)


def test_after_ten_wrong_codes_the_right_one_is_refused_for_a_quarter_of_an_hour(owner, paper):
    """Of one account, from wherever they come: who tries codes knows the password."""
    assert not any(take_code(owner, "wrong", now=LATER) for _ in range(10))

    with pytest.raises(TooManyCodes):
        take_code(owner, code_of(owner, LATER), now=LATER)
    soon = LATER + timedelta(minutes=14, seconds=59)
    with pytest.raises(TooManyCodes):
        take_code(owner, paper[0], now=soon)
    later = LATER + timedelta(minutes=15)
    assert take_code(owner, code_of(owner, later), now=later)


def test_a_right_code_ends_the_count_of_wrong_ones(owner, paper):
    for each in (0, 1):
        now = LATER + each * 2 * STEP
        assert not any(take_code(owner, "wrong", now=now) for _ in range(9))
        assert take_code(owner, code_of(owner, now), now=now)


def test_with_another_secret_key_the_phone_fits_no_more_and_the_paper_does(owner, paper, settings):
    code = code_of(owner, LATER)
    settings.SECRET_KEY = "another secret key of an invented book, as long as one has to be"

    assert not take_code(owner, code, now=LATER)
    assert take_code(owner, paper[0], now=LATER)


def tried_at_once(person, codes):
    """Try codes side by side; return what came of each, None where no more were taken."""

    def tried(code):
        try:
            return take_code(person, code, now=LATER)
        except TooManyCodes:
            return None
        finally:
            connection.close()

    with ThreadPoolExecutor(len(codes)) as hands:
        return list(hands.map(tried, codes))


@pytest.fixture
def side_by_side(transactional_db):
    """Skip where threads cannot ask the same database."""
    if connection.vendor != "postgresql":
        pytest.skip("threads share no database in memory")


@pytest.mark.servers
def test_of_eight_who_type_one_code_at_once_one_gets_in(side_by_side, owner, paper):
    for code in (code_of(owner, LATER), paper[0]):
        assert sorted(tried_at_once(owner, [code] * 8)) == [False] * 7 + [True]


@pytest.mark.servers
def test_of_sixteen_wrong_codes_at_once_ten_are_looked_at(side_by_side, owner, paper):
    tried = tried_at_once(owner, ["wrong"] * 16)

    assert (tried.count(False), tried.count(None)) == (10, 6)


def test_another_password_turns_codes_not_off(owner, paper):
    set_password(owner, "quite another long password", by=None)

    assert second_factor.is_on(owner)


def test_turned_off_they_are_gone_with_the_sign_ins(client, owner, paper):
    client.force_login(owner)

    assert second_factor.turn_off(owner, by=None)
    assert not second_factor.turn_off(owner, by=None)

    assert not RecoveryCode.objects.exists()
    assert client.get("/properties/").status_code == 302


def test_the_console_turns_them_off(owner, paper):
    said = StringIO()

    call_command("codes_off", "owner", stdout=said)

    assert "The codes of owner are off" in said.getvalue()
    assert not second_factor.is_on(owner)


@pytest.mark.parametrize(
    ("name", "said"), [("nobody", "Nobody signs in"), ("owner", "off already")]
)
def test_the_console_says_where_there_is_nothing_to_turn_off(owner, name, said):
    with pytest.raises(CommandError, match=said):
        call_command("codes_off", name)


def test_who_wants_codes_of_others_has_some(owner, business):
    with pytest.raises(ValidationError, match="for yourself first"):
        second_factor.want_codes(are_wanted=True, by=owner)


def test_an_empty_book_wants_none(owner, paper):
    with pytest.raises(ValidationError, match="whose book"):
        second_factor.want_codes(are_wanted=True, by=owner)


def test_wanted_codes_are_lacking_to_owner_and_office_alone(
    owner, dispatcher, applicator, technician, inspector, business, paper, django_user_model
):
    desk = django_user_model.objects.create_superuser("desk")

    second_factor.want_codes(are_wanted=True, by=owner)

    lacking = [dispatcher, desk]
    fine = [owner, applicator.user, technician, inspector]
    assert [second_factor.is_lacking(each) for each in lacking] == [True] * 2
    assert [second_factor.is_lacking(each) for each in fine] == [False] * 4


def test_once_they_are_wanted_who_has_none_is_signed_out(owner, dispatcher, business, paper):
    desks = {each: Browser() for each in (owner, dispatcher)}
    for person, desk in desks.items():
        desk.force_login(person)

    second_factor.want_codes(are_wanted=True, by=owner)

    answers = [desks[each].get("/properties/").status_code for each in (owner, dispatcher)]
    assert answers == [200, 302]


def test_wanted_no_more_they_are_lacking_to_nobody(owner, dispatcher, business, paper):
    second_factor.want_codes(are_wanted=True, by=owner)

    second_factor.want_codes(are_wanted=False, by=owner)

    assert not second_factor.is_lacking(dispatcher)


def test_nothing_of_them_is_taken_along_in_the_whole_book(owner, paper):
    held = Authenticator.objects.get()
    book = {name: b"".join(json_of(rows, columns)) for name, rows, columns in tables()}

    assert not any("authenticator" in name or "recovery" in name for name in book)
    told = b"".join(book.values()).decode()
    assert held.seed not in told
    assert held.recovery_codes.first().digest not in told


def test_each_step_is_a_line_of_the_log_that_tells_no_secret(owner, dispatcher, caplog):
    caplog.set_level(logging.INFO, "services")

    paper = with_codes(owner)
    seed, code = owner.authenticator.seed, code_of(owner, LATER)
    take_code(owner, code, now=LATER)
    take_code(owner, paper[0], now=LATER)
    anew = second_factor.renew_recovery_codes(owner)
    second_factor.turn_off(owner, by=dispatcher)

    lines = [(each.message, each.person, each.by) for each in caplog.records]
    assert lines == [
        ("sign-in codes turned on", owner.pk, owner.pk),
        ("recovery code used", owner.pk, owner.pk),
        ("recovery codes made anew", owner.pk, owner.pk),
        ("sign-in codes turned off", owner.pk, dispatcher.pk),
    ]
    told = " ".join(str(vars(each)) for each in caplog.records)
    assert not [each for each in (seed, code, *paper, *anew) if each in told]
