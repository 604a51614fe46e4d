"""Papers that are handed out, signed with the business's own certificate where it has one.

Off unless DUSKBOOK_PAPER_CERTIFICATE names a file of key and certificate (PKCS #12, RFC 7292) and
the package pyHanko is there (the extra `papers`).  The signature is CMS within the PDF (ISO
32000-1, 12.8): any reader of PDF tells whether a byte changed since, and whose certificate it was.
Its time is that of this machine: no service for time stamps is asked.
"""

from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec
from io import BytesIO
from typing import Any

from django.conf import settings
from django.core import checks

FIELD = "Signature"


class NoCertificate(ValueError):
    """The file of key and certificate cannot be opened."""


def signed_paper(pdf: bytes) -> bytes:
    """Return a PDF with the business's signature, or as it is where the business signs none.

    What stands before the signature stays the same bytes.  Raise NoCertificate.
    """
    if not settings.PAPER_CERTIFICATE:
        return pdf
    signer = _signer(settings.PAPER_CERTIFICATE, settings.PAPER_PASSWORD)
    # pyHanko takes a while to load, so it is loaded by who needs it.
    signers = import_module("pyhanko.sign.signers")
    writer = import_module("pyhanko.pdf_utils.incremental_writer")
    about = signers.PdfSignatureMetadata(field_name=FIELD, md_algorithm="sha256")
    written = writer.IncrementalPdfFileWriter(BytesIO(pdf))
    return signers.sign_pdf(written, about, signer=signer).getvalue()


@lru_cache(maxsize=1)
def _signer(file: str, password: str) -> Any:
    signers = import_module("pyhanko.sign.signers")
    passphrase = password.encode() if password else None
    signer = signers.SimpleSigner.load_pkcs12(file, passphrase=passphrase)
    if signer is None:
        raise NoCertificate(f"{file} holds no key and certificate that its password opens.")
    return signer


def is_possible() -> bool:
    """Say whether the package that signs is there."""
    return find_spec("pyhanko") is not None


@checks.register
def check_paper_certificate(app_configs=None, **options) -> list[checks.CheckMessage]:
    """Refuse a certificate that cannot be used: papers would go out unsigned."""
    if not settings.PAPER_CERTIFICATE:
        return []
    if not is_possible():
        hint = "pip install 'duskbook[papers]', or leave it out."
        told = "DUSKBOOK_PAPER_CERTIFICATE is set, but pyHanko is not there."
        return [checks.Error(told, hint=hint, id="services.E010")]
    try:
        _signer(settings.PAPER_CERTIFICATE, settings.PAPER_PASSWORD)
    except NoCertificate as error:
        return [checks.Error(f"DUSKBOOK_PAPER_CERTIFICATE: {error}", id="services.E011")]
    return []
