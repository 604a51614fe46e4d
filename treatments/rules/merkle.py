"""Merkle trees: one root for many entries, and short proofs that an entry belongs to it [RFC9162].

Leaves are numbered from 0.  A range of leaves is told as the first and the one after the last.
"""

from collections.abc import Iterable, Sequence
from hashlib import sha256

Range = tuple[int, int]

EMPTY = sha256(b"").digest()
LENGTH = 32  # bytes of a hash


class ProofRefused(ValueError):
    """A proof does not show what it should."""


def leaf_hash(data: bytes) -> bytes:
    """Return the hash of one entry, SHA-256 of a zero byte and its data [RFC9162]."""
    return sha256(b"\0" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Return the hash over two trees, SHA-256 of a one byte and both hashes [RFC9162]."""
    return sha256(b"\1" + left + right).digest()


def tree_root(leaves: Iterable[bytes]) -> bytes:
    """Return the root over leaf hashes; that of an empty tree is SHA-256 of nothing [RFC9162].

    >>> tree_root([]) == EMPTY
    True
    """
    tree = Frontier()
    for leaf in leaves:
        tree.add(leaf)
    return tree.root()


class Frontier:
    """A tree that grows leaf by leaf and remembers no more than its whole subtrees.

    peaks: roots of the whole subtrees into which the leaves fall, the largest first

    >>> tree = Frontier()
    >>> [tree.add(leaf_hash(data)).hex()[:6] for data in (b"", b"\\x00")]
    ['6e340b', 'fac542']
    >>> tree.size, tree.root().hex()[:6]
    (2, 'fac542')
    """

    def __init__(self, size: int = 0, peaks: Iterable[bytes] = ()) -> None:
        self.size = size
        self.peaks = list(peaks)

    def add(self, leaf: bytes) -> bytes:
        """Add a leaf and return the root of the largest whole subtree that ends with it."""
        top, size = leaf, self.size
        while size & 1:
            top = sha256(b"\1" + self.peaks.pop() + top).digest()
            size >>= 1
        self.peaks.append(top)
        self.size += 1
        return top

    def root(self) -> bytes:
        """Return the root over all leaves."""
        return folded(self.peaks)


def trailing_ones(number: int) -> int:
    """Return how many one bits end a number: so many whole subtrees a leaf of that place closes.

    >>> [trailing_ones(number) for number in range(8)]
    [0, 1, 0, 2, 0, 1, 0, 3]
    """
    return (~number & (number + 1)).bit_length() - 1


def folded(roots: Sequence[bytes]) -> bytes:
    """Return the root over subtrees that stand side by side, each at least as large as the next."""
    if not roots:
        return EMPTY
    top = roots[-1]
    for root in reversed(roots[:-1]):
        top = node_hash(root, top)
    return top


def whole_subtrees(leaves: Range) -> list[Range]:
    """Return the ranges whose roots, folded, are the root of a range.

    Each is a single leaf, or the largest whole subtree that ends with its last leaf; who keeps
    both hashes of each leaf knows the root of every range of a tree by a few of them.

    >>> whole_subtrees((0, 7))
    [(0, 4), (4, 6), (6, 7)]
    >>> whole_subtrees((2, 4))
    [(2, 3), (3, 4)]
    """
    first, end = leaves
    found = []
    while end - first > 1 and end - first != 1 << trailing_ones(end - 1):
        middle = first + _split(end - first)
        found.append((first, middle))
        first = middle
    return [*found, (first, end)] if end > first else found


def inclusion_ranges(index: int, size: int) -> list[Range]:
    """Return the ranges whose roots prove that a leaf is in a tree [RFC9162], 2.1.3.1.

    >>> inclusion_ranges(2, 7)
    [(3, 4), (0, 2), (4, 7)]
    """
    if not 0 <= index < size:
        raise ProofRefused(f"There is no entry {index} among {size}.")
    first, end, ranges = 0, size, []
    while end - first > 1:
        middle = first + _split(end - first)
        beside = (middle, end) if index < middle else (first, middle)
        ranges.append(beside)
        first, end = (first, middle) if index < middle else (middle, end)
    return ranges[::-1]


def consistency_ranges(earlier: int, size: int) -> list[Range]:
    """Return the ranges whose roots prove that a tree extends an earlier one [RFC9162], 2.1.4.1.

    >>> consistency_ranges(3, 7)
    [(2, 3), (3, 4), (0, 2), (4, 7)]
    """
    if not 0 < earlier <= size:
        raise ProofRefused(f"A tree of {size} entries does not extend one of {earlier}.")
    first, end, ranges = 0, size, []
    while end != earlier:
        middle = first + _split(end - first)
        if earlier <= middle:
            ranges.append((middle, end))
            end = middle
        else:
            ranges.append((first, middle))
            first = middle
    own = [(first, end)] if first else []
    return [*ranges, *own][::-1]


def inclusion_proof(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """Return the hashes that prove that a leaf is in a tree [RFC9162]."""
    ranges = inclusion_ranges(index, len(leaves))
    return [tree_root(leaves[first:end]) for first, end in ranges]


def consistency_proof(leaves: Sequence[bytes], earlier: int) -> list[bytes]:
    """Return the hashes that prove that a tree extends its first leaves [RFC9162]."""
    ranges = consistency_ranges(earlier, len(leaves))
    return [tree_root(leaves[first:end]) for first, end in ranges]


def check_inclusion(
    leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes
) -> None:
    """Raise ProofRefused unless a proof shows a leaf at its place in a tree [RFC9162], 2.1.3.2."""
    if not 0 <= index < size:
        raise ProofRefused(f"There is no entry {index} among {size}.")
    _refuse_odd_lengths([leaf, root, *proof])
    place, last, top = index, size - 1, leaf
    for hashed in proof:
        if last == 0:
            raise ProofRefused("The proof is too long.")
        if place & 1 or place == last:
            top = node_hash(hashed, top)
            place, last = _risen(place, last)
        else:
            top = node_hash(top, hashed)
        place, last = place >> 1, last >> 1
    if last != 0:
        raise ProofRefused("The proof is too short.")
    if top != root:
        raise ProofRefused("The entry is not in the tree with this root.")


def check_consistency(
    earlier: int, size: int, proof: Sequence[bytes], earlier_root: bytes, root: bytes
) -> None:
    """Raise ProofRefused unless a proof shows that a tree extends one [RFC9162], 2.1.4.2."""
    if not 0 < earlier <= size:
        raise ProofRefused(f"A tree of {size} entries does not extend one of {earlier}.")
    if earlier == size:
        if proof or earlier_root != root:
            raise ProofRefused("The roots of two trees of one size differ, or a proof is left.")
        return
    _refuse_odd_lengths([earlier_root, root, *proof])
    start = [earlier_root] if earlier & (earlier - 1) == 0 else []
    _walk(earlier - 1, size - 1, [*start, *proof], earlier_root, root)


def _walk(place: int, last: int, hashes: Sequence[bytes], earlier_root: bytes, root: bytes) -> None:
    if not hashes:
        raise ProofRefused("The proof is too short.")
    shift = trailing_ones(place)
    place, last = place >> shift, last >> shift
    old = new = hashes[0]
    for hashed in hashes[1:]:
        if last == 0:
            raise ProofRefused("The proof is too long.")
        if place & 1 or place == last:
            old, new = node_hash(hashed, old), node_hash(hashed, new)
            place, last = _risen(place, last)
        else:
            new = node_hash(new, hashed)
        place, last = place >> 1, last >> 1
    if last != 0 or old != earlier_root or new != root:
        raise ProofRefused("The later tree does not extend the earlier one.")


def _risen(place: int, last: int) -> Range:
    """Return the places after the levels on which nothing stands to the right."""
    while place and not place & 1:
        place, last = place >> 1, last >> 1
    return place, last


def _split(count: int) -> int:
    """Return the largest power of two below a count of two or more."""
    return 1 << (count - 1).bit_length() - 1


def _refuse_odd_lengths(hashes: Iterable[bytes]) -> None:
    if any(len(hashed) != LENGTH for hashed in hashes):
        raise ProofRefused(f"A hash has {LENGTH} bytes.")
