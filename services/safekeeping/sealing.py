"""Seals a stream of bytes with a key, so that nobody reads or changes it on its way.

A sealed file begins with what it is, a mark of its key and 32 random bytes.  A key of its own comes
from these by HKDF-SHA256 [RFC5869].  Then come pieces of a MiB, each sealed with ChaCha20-Poly1305
[RFC8439]; the nonce is the piece's number in 11 bytes and a byte that is 1 for the last piece
alone, so that no piece can be left out, moved or cut off unseen.
"""

import base64
import binascii
import io
import secrets
from importlib.util import find_spec
from typing import TYPE_CHECKING, BinaryIO

from django.utils.translation import gettext as _

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

CAN_SEAL = find_spec("cryptography") is not None  # it is large, and loaded when something is sealed
MAGIC = b"duskbook-backup 1\n"
KEY_LENGTH = SALT_LENGTH = 32
MARK_LENGTH = 8
TAG_LENGTH = 16
PIECE = 1 << 20


class CannotKeep(Exception):
    """A copy cannot be made or brought back here; the message says what helps."""


class NoBackup(Exception):
    """A file is no backup of a book, is damaged, or was sealed with another key."""


def new_key() -> str:
    """Return a new key as it is printed: 32 random bytes in base64."""
    return base64.b64encode(secrets.token_bytes(KEY_LENGTH)).decode()


def key_of(text: str) -> bytes:
    """Return the bytes of a printed key; raise CannotKeep where it is none."""
    try:
        key = base64.b64decode(text.strip(), validate=True)
    except (binascii.Error, ValueError):
        key = b""
    if len(key) != KEY_LENGTH:
        raise CannotKeep(_("The key for backups is 32 bytes, written in base64."))
    return key


def refuse_unable() -> None:
    """Raise CannotKeep where the package that seals is not installed."""
    if not CAN_SEAL:
        raise CannotKeep(
            _("Backups are sealed by the package cryptography: pip install 'duskbook[signing]'.")
        )


class Sealer(io.RawIOBase):
    """Takes bytes and writes them sealed; only closing it makes the file whole."""

    def __init__(self, file: BinaryIO, key: bytes) -> None:
        salt = secrets.token_bytes(SALT_LENGTH)
        self._file = file
        self._head = MAGIC + _mark(key) + salt
        self._cipher = _cipher(key, salt)
        self._held = bytearray()
        self._number = 0
        file.write(self._head)

    def writable(self) -> bool:
        return True

    def write(self, data) -> int:
        self._held += data
        while len(self._held) > PIECE:  # the last piece may be a full one
            self._seal(bytes(self._held[:PIECE]), is_last=False)
            del self._held[:PIECE]
        return len(data)

    def finish(self) -> None:
        """Write the last piece; without it the file is known to be cut off."""
        self._seal(bytes(self._held), is_last=True)
        self._held.clear()

    def _seal(self, piece: bytes, *, is_last: bool) -> None:
        nonce = _nonce(self._number, is_last=is_last)
        self._file.write(self._cipher.encrypt(nonce, piece, self._head))
        self._number += 1


class Opener(io.RawIOBase):
    """Gives the bytes of a sealed file, each piece only after it was found as it was sealed."""

    def __init__(self, file: BinaryIO, key: bytes) -> None:
        head = file.read(len(MAGIC) + MARK_LENGTH + SALT_LENGTH)
        if not head.startswith(MAGIC) or len(head) < len(MAGIC) + MARK_LENGTH + SALT_LENGTH:
            raise NoBackup(_("This file is no backup of a book."))
        if head[len(MAGIC) : -SALT_LENGTH] != _mark(key):
            raise NoBackup(_("This backup was sealed with another key."))
        self._file = file
        self._head = head
        self._cipher = _cipher(key, head[-SALT_LENGTH:])
        self._number = 0
        self._next = file.read(PIECE + TAG_LENGTH)
        self._open = bytearray()
        self._is_over = False

    def readable(self) -> bool:
        return True

    def readinto(self, buffer) -> int:
        while not self._open and not self._is_over:
            self._open_piece()
        count = min(len(buffer), len(self._open))
        buffer[:count] = self._open[:count]
        del self._open[:count]
        return count

    def _open_piece(self) -> None:
        from cryptography.exceptions import InvalidTag

        sealed, self._next = self._next, self._file.read(PIECE + TAG_LENGTH)
        self._is_over = not self._next
        try:
            nonce = _nonce(self._number, is_last=self._is_over)
            self._open += self._cipher.decrypt(nonce, sealed, self._head)
        except InvalidTag as error:
            raise NoBackup(_("The backup is cut off or damaged; nothing was changed.")) from error
        self._number += 1


def _cipher(key: bytes, salt: bytes) -> "ChaCha20Poly1305":
    from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

    return ChaCha20Poly1305(_derived(key, salt, MAGIC + b"seal", KEY_LENGTH))


def _mark(key: bytes) -> bytes:
    """Return bytes by which a file names its key without giving it away."""
    return _derived(key, b"", MAGIC + b"mark", MARK_LENGTH)


def _derived(key: bytes, salt: bytes, purpose: bytes, length: int) -> bytes:
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.kdf.hkdf import HKDF

    return HKDF(algorithm=SHA256(), length=length, salt=salt, info=purpose).derive(key)


def _nonce(number: int, *, is_last: bool) -> bytes:
    return number.to_bytes(11, "big") + bytes([is_last])
