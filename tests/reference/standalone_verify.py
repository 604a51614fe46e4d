"""Checks an exported journal with nothing but Python: standalone_verify.py EXPORT [CHECKPOINT...].

Written from the format in DEVELOPERS.md, "The journal"; it shares no line with the program.  Ends
with 0 when all fits, 1 when something does not, 2 when a file cannot be read.
"""

import base64
import hashlib
import json
import pathlib
import sys
import unicodedata

ENVELOPE = ["actor", "amends", "body_sha256", "entry_id", "kind", "recorded_at", "seq", "v"]


def sha(data):
    return hashlib.sha256(data).digest()


def no_double(pairs):
    if len({key for key, _ in pairs}) < len(pairs):
        raise ValueError("a key stands twice")
    return dict(pairs)


def no_fraction(text):
    raise ValueError(f"{text} is a fraction")


def read(text):
    return json.loads(
        text, object_pairs_hook=no_double, parse_float=no_fraction, parse_constant=no_fraction
    )


def is_canonical(text, value):
    """Keys are ASCII, so that sorting them by code points is sorting them by UTF-16 units."""
    again = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return again == text and unicodedata.is_normalized("NFC", text)


def root_of(hashes):
    """Pair neighbours level by level; an odd one rises as it is."""
    if not hashes:
        return sha(b"")
    while len(hashes) > 1:
        pairs = [hashes[place : place + 2] for place in range(0, len(hashes), 2)]
        hashes = [sha(b"\1" + b"".join(pair)) if len(pair) == 2 else pair[0] for pair in pairs]
    return hashes[0]


class Check:
    def __init__(self):
        self.faults = []
        self.leaves = []
        self.places = {}
        self.missing = {}

    def fault(self, where, sentence):
        self.faults.append(f"{where}: {sentence}")

    def entry(self, told):
        seq, envelope_text = told["seq"], told["envelope"]
        where = f"entry {seq}"
        if seq != len(self.leaves):
            self.fault(where, f"stands at place {len(self.leaves)}")
        leaf = sha(b"\0" + envelope_text.encode())
        self.leaves.append(leaf)
        if leaf.hex() != told["leaf_hash"]:
            self.fault(where, "the hash is not that of the envelope")
        envelope = read(envelope_text)
        if not is_canonical(envelope_text, envelope) or sorted(envelope) != ENVELOPE:
            self.fault(where, "the envelope is not canonical")
        if (envelope["v"], envelope["seq"], envelope["entry_id"]) != (1, seq, told["entry_id"]):
            self.fault(where, "the envelope is that of another entry")
        self.body(where, told, envelope)
        if envelope["amends"] is not None and envelope["amends"] not in self.places:
            self.fault(where, "amends no earlier entry")
        self.places[envelope["entry_id"]] = seq
        self.subtree(where, told)

    def body(self, where, told, envelope):
        text, digest = told["body"], envelope["body_sha256"]
        found = digest if text is None else sha(text.encode()).hex()
        if not told["body_sha256"] == digest == found:
            self.fault(where, "the body is not the one of the envelope")
        elif text is None:
            self.missing[envelope["entry_id"], digest] = where
        elif not is_canonical(text, body := read(text)) or len(body["salt"]) != 32:
            self.fault(where, "the body is not canonical")
        elif envelope["kind"] == "disposal":
            self.missing.pop((envelope["amends"], body["disposed_sha256"]), None)

    def subtree(self, where, told):
        size = 1
        while len(self.leaves) % (size * 2) == 0:
            size *= 2
        if root_of(self.leaves[-size:]).hex() != told["subtree_hash"]:
            self.fault(where, "the hash over the entries before it does not fit")

    def checkpoint(self, text):
        origin, size, root = text.partition("\n\n")[0].splitlines()[:3]
        count = int(size)
        where = f"checkpoint after {count} entries"
        if not 0 < count <= len(self.leaves):
            self.fault(where, f"the journal has {len(self.leaves)}")
        elif root_of(self.leaves[:count]) != base64.b64decode(root, validate=True):
            self.fault(where, "its root is not the one of these entries")
        elif origin != self.origin():
            self.fault(where, f"it is one of {origin}")

    def origin(self):
        return f"duskbook/journal-{self.leaves[0].hex()[:16]}" if self.leaves else ""

    def head(self, head):
        told = (head["origin"], head["size"], head["root"])
        root = root_of(self.leaves).hex() if self.leaves else ""
        if told != (self.origin(), len(self.leaves), root):
            self.fault("first line", "it is not the head of these entries")
        for where in self.missing.values():
            self.fault(where, "the body is missing, and no later entry disposes of it")


def main(export, *checkpoints):
    check, texts = Check(), []
    with open(export, encoding="utf-8", newline="\n") as lines:
        head = json.loads(next(lines))
        if (head["format"], head["version"]) != ("duskbook-journal", 1):
            raise ValueError("this is no journal")
        for line in lines:
            told = json.loads(line)
            texts.append(told["checkpoint"]) if "checkpoint" in told else check.entry(told)
    texts += [pathlib.Path(path).read_bytes().decode() for path in checkpoints]
    check.head(head)
    for text in texts:
        check.checkpoint(text)
    for fault in check.faults:
        sys.stdout.write(fault + "\n")
    sys.stdout.write(f"{len(check.leaves)} entries, root {root_of(check.leaves).hex()}\n")
    return 1 if check.faults else 0


if __name__ == "__main__":
    try:
        raise SystemExit(main(*sys.argv[1:]))
    except (OSError, ValueError, KeyError, TypeError, StopIteration) as error:
        sys.stdout.write(f"cannot be read: {error!r}\n")
        raise SystemExit(2) from error
