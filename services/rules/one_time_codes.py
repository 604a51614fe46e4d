"""One-time codes that follow the clock, which a person's phone and the book both reckon [RFC 6238].

Six digits, another every half minute, by HMAC-SHA-1: what every program for codes knows.
"""

import base64

from pyotp import TOTP
from pyotp.exceptions import OTPVerificationError

STEP_SECONDS = 30
DRIFT = 1  # steps by which the clocks may differ, either way, as RFC 6238 recommends in 5.2
SECRET_BYTES = 20  # RFC 4226, 4: 160 bits are recommended


def in_letters(secret: bytes) -> str:
    """Return a secret as it is typed into a phone: base32 [RFC 4648] without padding.

    >>> in_letters(b"12345678901234567890")
    'GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ'
    """
    return base64.b32encode(secret).decode().rstrip("=")


def code_at(secret: bytes, seconds: int) -> str:
    """Return the code that holds at a moment.

    seconds: since the beginning of 1970, UTC

    >>> code_at(b"12345678901234567890", 59)
    '287082'
    """
    return _codes_of(secret).at(seconds)


def step_of(code: str, secret: bytes, *, seconds: int, after: int = -1) -> int | None:
    """Return the step of time that a code is of, or None where it is of none that counts.

    seconds: now, since the beginning of 1970, UTC
    after: the step of the code that was taken last; one of then or before is not taken again

    >>> step_of("287082", b"12345678901234567890", seconds=59)
    1
    >>> step_of("287082", b"12345678901234567890", seconds=59, after=1)
    """
    try:
        step = _codes_of(secret).verify_and_get_timecode(code, for_time=seconds, valid_window=DRIFT)
    except OTPVerificationError:
        return None
    return step if step > after else None


def address_of(secret: bytes, *, name: str, issuer: str) -> str:
    """Return the address that hands a secret to a phone, to be shown as a QR code.

    >>> address_of(b"12345678901234567890", name="ana", issuer="Fern & Sons")
    'otpauth://totp/Fern%20%26%20Sons:ana?secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ&issuer=Fern%20%26%20Sons'
    """
    return _codes_of(secret).provisioning_uri(name=name, issuer_name=issuer)


def _codes_of(secret: bytes) -> TOTP:
    return TOTP(in_letters(secret), interval=STEP_SECONDS)
