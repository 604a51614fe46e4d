"""Checks a package of records with nothing but Python: standalone_package.py [proofs.jsonl [copy]].

Written from the format in DEVELOPERS.md, "A package of records"; it shares no line with the
program and takes the hashing from standalone_verify.py beside it.  copy is a checkpoint that
somebody else kept.  Ends with 0 when all fits, 1 when something does not, 2 when a file cannot be
read.
"""

import base64
import json
import sys
from pathlib import Path

from standalone_verify import Check, read, sha


def root_by(leaf, seq, size, proof):
    """Return the root that a proof leads to: RFC 9162, section 2.1.3.2."""
    here, last, node = seq, size - 1, leaf
    for other in proof:
        if last == 0:
            raise ValueError("the proof is too long")
        if here % 2 or here == last:
            node = sha(b"\1" + other + node)
            while here % 2 == 0 and here:
                here, last = here // 2, last // 2
        else:
            node = sha(b"\1" + node + other)
        here, last = here // 2, last // 2
    if last:
        raise ValueError("the proof is too short")
    return node


class Package(Check):
    def proved(self, told, size, root):
        where = f"entry {told['seq']}"
        leaf = sha(b"\0" + told["envelope"].encode())
        envelope = read(told["envelope"])
        if (envelope["seq"], envelope["entry_id"]) != (told["seq"], told["entry_id"]):
            self.fault(where, "the envelope is that of another entry")
        proof = [bytes.fromhex(each) for each in told["proof"]]
        if root_by(leaf, told["seq"], size, proof) != root:
            self.fault(where, "is not among the entries of the checkpoint")
        if told["body"] is not None:
            self.body(where, told, envelope)


def head_of(text):
    origin, size, root = text.partition("\n\n")[0].splitlines()[:3]
    return origin, int(size), base64.b64decode(root, validate=True)


def main(path="proofs.jsonl", *copies):
    with open(path, encoding="utf-8", newline="\n") as lines:
        first, *entries = [json.loads(line) for line in lines]
    if (first["format"], first["version"]) != ("duskbook-proofs", 1):
        raise ValueError("these are no proofs")
    check, head = Package(), head_of(first["checkpoint"])
    for told in entries:
        check.proved(told, head[1], head[2])
    for copy in copies:
        kept = head_of(Path(copy).read_text(encoding="utf-8"))
        if kept[:2] == head[:2] and kept != head:
            check.fault(f"copy {copy}", "has another root for the same entries")
        elif kept != head:
            sys.stdout.write(f"copy {copy} is of another moment; ask for a full export\n")
    for fault in check.faults:
        sys.stdout.write(fault + "\n")
    withheld = sum(told["body"] is None for told in entries)
    sys.stdout.write(f"{len(entries)} entries proved against {head[1]}, {withheld} without body\n")
    return 1 if check.faults else 0


if __name__ == "__main__":
    try:
        raise SystemExit(main(*sys.argv[1:]))
    except (OSError, ValueError, KeyError, TypeError, IndexError) as error:
        sys.stdout.write(f"cannot be read: {error!r}\n")
        raise SystemExit(2) from error
