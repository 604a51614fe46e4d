"""Checkpoints: size and root of the journal as three lines, signed where there is a key.

The text is that of [C2SP-CHECKPOINT], signed as in [C2SP-NOTE] with Ed25519.  Signing needs the
package cryptography; without it, or without a key, a checkpoint stands unsigned.  A key that lies
beside the journal proves nothing against whoever owns both: copies that others hold do.
"""

import base64
import binascii
from dataclasses import dataclass
from hashlib import sha256
from importlib.util import find_spec
from typing import TYPE_CHECKING

from treatments.rules.journal import data_of

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

CAN_SIGN = find_spec("cryptography") is not None  # it is large, and loaded when something is signed
ED25519 = b"\x01"  # the byte of this kind of signature [C2SP-NOTE]
KEY_ID_LENGTH = 4
DASH = "\N{EM DASH}"


class NoCheckpoint(ValueError):
    """A text is no checkpoint, or its signature is not that of the key."""


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """How many entries a journal has, and the root over them.

    origin: which journal, on one line without blanks; root: 32 bytes
    """

    origin: str
    size: int
    root: bytes

    def text(self) -> str:
        """Return the three lines that are signed [C2SP-CHECKPOINT].

        >>> print(Checkpoint("example.com/log", 0, bytes(32)).text(), end="")
        example.com/log
        0
        AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=
        """
        return f"{self.origin}\n{self.size}\n{base64.b64encode(self.root).decode()}\n"


@dataclass(frozen=True, slots=True)
class Key:
    """A private key of Ed25519: the name that signs, and 32 bytes that nobody else knows."""

    name: str
    seed: bytes

    def public(self) -> bytes:
        """Return the 32 bytes by which others check what was signed."""
        return _private(self.seed).public_key().public_bytes_raw()

    def verifier(self) -> str:
        """Return name, key id and public key on one line, as others want them [C2SP-NOTE]."""
        public = self.public()
        told = base64.b64encode(ED25519 + public).decode()
        return f"{self.name}+{key_id(self.name, public).hex()}+{told}"

    def sign(self, text: str) -> str:
        """Return a text with its signature under it [C2SP-NOTE]."""
        signature = key_id(self.name, self.public()) + _private(self.seed).sign(text.encode())
        return f"{text}\n{DASH} {self.name} {base64.b64encode(signature).decode()}\n"


def key_id(name: str, public: bytes) -> bytes:
    """Return the four bytes by which a signature names its key [C2SP-NOTE].

    public: the 32 bytes of an Ed25519 public key
    """
    return sha256(name.encode() + b"\n" + ED25519 + public).digest()[:KEY_ID_LENGTH]


def seed_of(text: str) -> bytes:
    """Return the 32 bytes of a key that is written in base64; raise NoCheckpoint for others."""
    seed = _decoded(text.strip())
    if len(seed) != 32:
        raise NoCheckpoint("A key is 32 bytes, written in base64.")
    return seed


def read_checkpoint(text: str) -> Checkpoint:
    """Return what a checkpoint says, without a look at its signatures; raise NoCheckpoint.

    >>> read_checkpoint("example.com/log\\n07\\nAAAA\\n")
    Traceback (most recent call last):
    treatments.rules.checkpoints.NoCheckpoint: This is no checkpoint of a journal.
    """
    lines = text.partition("\n\n")[0].split("\n")
    if len(lines) < 3 or not lines[0]:
        raise NoCheckpoint("This is no checkpoint of a journal.")
    origin, size, root = lines[0], lines[1], _decoded(lines[2])
    is_number = size.isascii() and size.isdecimal() and size == str(int(size[:20]))
    if not is_number or len(root) != 32:
        raise NoCheckpoint("This is no checkpoint of a journal.")
    return Checkpoint(origin, int(size), root)


def signatures_of(note: str) -> list[tuple[str, bytes]]:
    """Return the names and bytes of the signatures under a text [C2SP-NOTE]."""
    _text, blank, under = note.rpartition("\n\n")
    if not blank:
        return []
    found = []
    for line in under.removesuffix("\n").split("\n"):
        dash, _, rest = line.partition(" ")
        name, _, signature = rest.partition(" ")
        if dash != DASH or not name or not signature:
            raise NoCheckpoint("A line under the checkpoint is no signature.")
        found.append((name, _decoded(signature)))
    return found


def check_signature(note: str, name: str, public: bytes) -> None:
    """Raise NoCheckpoint unless the key with this name has signed a text [C2SP-NOTE].

    public: the 32 bytes of its Ed25519 public key
    """
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    text = note.rpartition("\n\n")[0] + "\n"
    named = key_id(name, public)
    signed = [
        signature[KEY_ID_LENGTH:]
        for signer, signature in signatures_of(note)
        if signer == name and signature[:KEY_ID_LENGTH] == named
    ]
    if not signed:
        raise NoCheckpoint(f"{name} has not signed this.")
    try:
        for signature in signed:
            Ed25519PublicKey.from_public_bytes(public).verify(signature, data_of(text))
    except InvalidSignature as error:
        raise NoCheckpoint(f"The signature of {name} does not fit the text.") from error


def _private(seed: bytes) -> "Ed25519PrivateKey":
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    return Ed25519PrivateKey.from_private_bytes(seed)


def _decoded(text: str) -> bytes:
    try:
        decoded = base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError) as error:
        raise NoCheckpoint("This is not base64.") from error
    if base64.b64encode(decoded).decode() != text:
        raise NoCheckpoint("This is base64 with bits to spare.")
    return decoded
