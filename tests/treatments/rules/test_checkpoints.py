"""Checkpoints against the example of [C2SP-CHECKPOINT] and the published key and note [GO-NOTE]."""

import base64

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from treatments.rules.checkpoints import (
    CAN_SIGN,
    Checkpoint,
    Key,
    NoCheckpoint,
    check_signature,
    key_id,
    read_checkpoint,
    seed_of,
    signatures_of,
)

# The example printed in [C2SP-CHECKPOINT].
EXAMPLE = (
    "example.com/behind-the-sofa\n"
    "20852163\n"
    "CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"
    "\n"
    "— example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5"
    "/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n"
)

# Key and signed text of the tests of golang.org/x/mod/sumdb/note [GO-NOTE].
NAME = "PeterNeumann"
PUBLIC = base64.b64decode("ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW")[1:]
SEED = base64.b64decode("AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz")[1:]
TEXT = (
    "If you think cryptography is the answer to your problem,\n"
    "then you don't know what your problem is.\n"
)
NOTE = (
    f"{TEXT}\n— PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfq"
    "dngotpRZb6KE6RyyBwJnAM=\n"
)


def test_the_printed_example_is_read_and_written_again():
    told = read_checkpoint(EXAMPLE)

    assert (told.origin, told.size) == ("example.com/behind-the-sofa", 20852163)
    assert told.root.hex().startswith("0ac5186a91863e8e")
    assert EXAMPLE.startswith(told.text() + "\n")
    assert [name for name, _ in signatures_of(EXAMPLE)] == ["example.com/behind-the-sofa"]


def test_a_published_key_signs_a_published_text_to_the_byte():
    assert Key(NAME, SEED).sign(TEXT) == NOTE
    assert Key(NAME, SEED).public() == PUBLIC
    assert key_id(NAME, PUBLIC).hex() == "c74f20a3"
    assert Key(NAME, SEED).verifier() == (
        "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW"
    )


def test_where_the_library_is_installed_the_book_can_sign():
    assert CAN_SIGN


def test_a_published_signature_is_accepted():
    check_signature(NOTE, NAME, PUBLIC)


def test_a_changed_text_is_refused():
    with pytest.raises(NoCheckpoint, match="does not fit"):
        check_signature(NOTE.replace("answer", "Answer"), NAME, PUBLIC)


def test_a_key_that_has_not_signed_is_told_so():
    with pytest.raises(NoCheckpoint, match="has not signed"):
        check_signature(NOTE, "SomebodyElse", PUBLIC)
    with pytest.raises(NoCheckpoint, match="has not signed"):
        check_signature(TEXT, NAME, PUBLIC)


def test_an_unsigned_checkpoint_is_read_as_well():
    checkpoint = Checkpoint("duskbook/one", 7, bytes(range(32)))

    assert read_checkpoint(checkpoint.text()) == checkpoint
    assert signatures_of(checkpoint.text()) == []


@pytest.mark.parametrize(
    "text",
    [
        "",
        "origin\n1\n",
        "\n1\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        f"origin\n{'9' * 21}\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        "origin\n01\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        "origin\n-1\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        "origin\n١\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        "origin\n\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        f"origin\n{'9' * 10_000}\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=\n",
        "origin\n1\nAAAA\n",
        "origin\n1\nAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAB=\n",
        "origin\n1\n{not base64}\n",
    ],
)
def test_what_is_no_checkpoint_is_refused(text):
    with pytest.raises(NoCheckpoint):
        read_checkpoint(text)


@given(st.integers(0, len(NOTE) - 1), st.characters())
@example(0, "\ud800")  # no text has it, but a damaged file may
def test_any_changed_sign_of_a_signed_text_is_refused(place, sign):
    changed = NOTE[:place] + sign + NOTE[place + 1 :]
    if changed == NOTE:
        return

    with pytest.raises(NoCheckpoint):
        check_signature(changed, NAME, PUBLIC)


@pytest.mark.parametrize("text", ["", "AAAA", "not base64!"])
def test_a_key_of_another_length_is_refused(text):
    with pytest.raises(NoCheckpoint):
        seed_of(text)


def test_a_key_is_read_from_base64():
    assert seed_of(base64.b64encode(SEED).decode() + "\n") == SEED
