"""Merkle trees against published test data [CT-VECTORS] of the hash of [RFC9162].

The values are those of github.com/transparency-dev/merkle and, for leaves and roots, also of
github.com/google/certificate-transparency, both Apache-2.0, as they stand in
tests/reference/integrity_vectors.json.
"""

import json
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.merkle import (
    EMPTY,
    Frontier,
    ProofRefused,
    check_consistency,
    check_inclusion,
    consistency_proof,
    folded,
    inclusion_proof,
    inclusion_ranges,
    leaf_hash,
    node_hash,
    tree_root,
    whole_subtrees,
)

FILE = Path(__file__).parents[2] / "reference" / "integrity_vectors.json"
VECTORS = json.loads(FILE.read_text(encoding="utf-8"))
TREE = VECTORS["merkle_rfc6962"]
LEAVES = [bytes.fromhex(leaf) for leaf in TREE["leaf_hashes"]]

sizes = st.integers(1, 200)


def hashes(texts):
    return [bytes.fromhex(text) for text in texts]


def name_of(case):
    return case["case"]


def some_leaves(size):
    return [leaf_hash(str(number).encode()) for number in range(size)]


@pytest.mark.parametrize("primitive", TREE["primitives"], ids=lambda each: each["what"])
def test_published_hashes_come_out(primitive):
    made = {
        "SHA-256 of nothing": lambda: EMPTY,
        "leaf": lambda: leaf_hash(bytes.fromhex(primitive["data_hex"])),
        "node": lambda: node_hash(
            bytes.fromhex(primitive["left_hex"]), bytes.fromhex(primitive["right_hex"])
        ),
    }

    assert made[primitive["op"]]().hex() == primitive["hash"]


def test_published_leaves_come_out():
    data = hashes(TREE["leaf_data_hex"])

    assert [leaf_hash(each) for each in data] == LEAVES


@pytest.mark.parametrize("case", TREE["root_by_size"], ids=lambda each: str(each["size"]))
def test_published_roots_come_out(case):
    assert tree_root(LEAVES[: case["size"]]).hex() == case["root"]


@pytest.mark.parametrize("case", TREE["inclusion_cases"], ids=name_of)
def test_published_proofs_of_an_entry_are_accepted_or_refused(case):
    given_proof = (
        bytes.fromhex(case["leaf_hash"]),
        case["leaf_index"],
        case["tree_size"],
        hashes(case["proof"]),
        bytes.fromhex(case["root"]),
    )

    if case["expect"] == "accept":
        check_inclusion(*given_proof)
    else:
        with pytest.raises(ProofRefused):
            check_inclusion(*given_proof)


@pytest.mark.parametrize("case", TREE["consistency_cases"], ids=name_of)
def test_published_proofs_of_growth_are_accepted_or_refused(case):
    given_proof = (
        case["size1"],
        case["size2"],
        hashes(case["proof"]),
        bytes.fromhex(case["root1"]),
        bytes.fromhex(case["root2"]),
    )

    if case["expect"] == "accept":
        check_consistency(*given_proof)
    else:
        with pytest.raises(ProofRefused):
            check_consistency(*given_proof)


@pytest.mark.parametrize(
    "case", [c for c in TREE["inclusion_cases"] if c["case"].endswith("happy-path")], ids=name_of
)
def test_our_proofs_of_an_entry_are_the_published_ones(case):
    made = inclusion_proof(LEAVES[: case["tree_size"]], case["leaf_index"])

    assert [each.hex() for each in made] == case["proof"]


@pytest.mark.parametrize(
    "case", [c for c in TREE["consistency_cases"] if c["case"].endswith("happy-path")], ids=name_of
)
def test_our_proofs_of_growth_are_the_published_ones(case):
    made = consistency_proof(LEAVES[: case["size2"]], case["size1"])

    assert [each.hex() for each in made] == case["proof"]


@pytest.mark.parametrize(("index", "size"), [(0, 0), (3, 3), (-1, 3)])
def test_there_is_no_proof_of_an_entry_that_is_not_there(index, size):
    with pytest.raises(ProofRefused):
        inclusion_proof(some_leaves(size), index)


@pytest.mark.parametrize(("earlier", "size"), [(0, 3), (4, 3)])
def test_there_is_no_proof_of_growth_from_nothing_or_from_more(earlier, size):
    with pytest.raises(ProofRefused):
        consistency_proof(some_leaves(size), earlier)


@given(sizes, st.data())
def test_each_entry_is_proved_and_no_other_in_its_place(size, data):
    index = data.draw(st.integers(0, size - 1))
    leaves = some_leaves(size)
    proof = inclusion_proof(leaves, index)

    check_inclusion(leaves[index], index, size, proof, tree_root(leaves))

    with pytest.raises(ProofRefused):
        check_inclusion(leaf_hash(b"another"), index, size, proof, tree_root(leaves))


@given(sizes, st.data())
def test_each_growth_is_proved(size, data):
    earlier = data.draw(st.integers(1, size))
    leaves = some_leaves(size)
    proof = consistency_proof(leaves, earlier)

    check_consistency(earlier, size, proof, tree_root(leaves[:earlier]), tree_root(leaves))


@given(sizes, st.data())
def test_two_hashes_of_each_leaf_give_the_root_of_every_range_of_a_tree(size, data):
    index = data.draw(st.integers(0, size - 1))
    leaves, tree = some_leaves(size), Frontier()
    tops = [tree.add(leaf) for leaf in leaves]
    expected = inclusion_proof(leaves, index)

    pieces = [whole_subtrees(each) for each in inclusion_ranges(index, size)]
    made = [[leaves[f] if e - f == 1 else tops[e - 1] for f, e in piece] for piece in pieces]

    assert [folded(each) for each in made] == expected
    assert len(max(pieces, key=len, default=[])) <= size.bit_length()


def test_a_subtree_that_ends_with_its_last_leaf_is_one_piece():
    # by hand: leaf 5 closes 4 and 5, leaf 7 closes all eight leaves and so no smaller subtree
    assert whole_subtrees((4, 6)) == [(4, 6)]
    assert whole_subtrees((4, 8)) == [(4, 6), (6, 7), (7, 8)]


@pytest.mark.parametrize("place", [0, 3])
def test_no_leaves_are_no_subtree(place):
    # [RFC9162] 2.1.1: the root of an empty tree is the hash of an empty text
    assert folded(whole_subtrees((place, place))) == EMPTY == sha256(b"").digest()


def test_a_tree_taken_up_from_its_peaks_grows_on():
    leaves, tree = some_leaves(11), Frontier()
    for leaf in leaves[:7]:
        tree.add(leaf)

    later = Frontier(7, tree.peaks)
    for leaf in leaves[7:]:
        later.add(leaf)

    assert later.root() == tree_root(leaves)
