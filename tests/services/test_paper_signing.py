"""Papers signed with the business's own certificate, checked by pyHanko and by pypdf.

PKCS #12 is RFC 7292, the certificate RFC 5280; both are made by the package cryptography.
"""

from datetime import UTC, datetime, timedelta
from io import BytesIO

import pyhanko_certvalidator as certvalidator
import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    pkcs12,
)
from cryptography.x509.oid import NameOID
from django.urls import reverse
from pyhanko.pdf_utils import reader as reading
from pyhanko.sign import validation
from pypdf import PdfReader

from services.paper_signing import NoCertificate, check_paper_certificate, signed_paper
from services.sheets.layout import BODY, Imprint, said
from services.sheets.pages import bind
from treatments.recording import record_application

PASSWORD = "a password for a test"


@pytest.fixture
def certificate(settings, tmp_path):
    """A key and a certificate of an invented business, in the settings."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Lantern Hedge (invented)")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=30))
        .add_extension(_for_signing(), critical=True)
        .sign(key, SHA256())
    )
    file = tmp_path / "business.p12"
    sealed = BestAvailableEncryption(PASSWORD.encode())
    file.write_bytes(pkcs12.serialize_key_and_certificates(b"business", key, made, None, sealed))
    settings.PAPER_CERTIFICATE, settings.PAPER_PASSWORD = str(file), PASSWORD
    return made


def _for_signing():
    names = (
        "digital_signature content_commitment key_encipherment data_encipherment key_agreement "
        "key_cert_sign crl_sign encipher_only decipher_only"
    )
    used = {"digital_signature", "content_commitment"}
    return x509.KeyUsage(**{name: name in used for name in names.split()})


@pytest.fixture
def paper():
    imprint = Imprint("Lantern Hedge (invented)", "", datetime(2026, 7, 6, 14, tzinfo=UTC))
    return bind([said("What was applied.", BODY)], imprint, "A record")


def seen(data):
    """Return what pyHanko says of the only signature of a file."""
    (signature,) = reading.PdfFileReader(BytesIO(data)).embedded_signatures
    trusted = certvalidator.ValidationContext(trust_roots=[signature.signer_cert])
    return validation.validate_pdf_signature(signature, trusted)


def test_a_signed_paper_is_found_whole_and_names_the_business(paper, certificate):
    status = seen(signed_paper(paper))

    assert (status.intact, status.valid) == (True, True)
    assert status.coverage.name == "ENTIRE_FILE"
    assert status.signing_cert.dump() == certificate.public_bytes(Encoding.DER)


def test_a_changed_byte_is_found(paper, certificate):
    data = bytearray(signed_paper(paper))
    data[len(paper) // 2] ^= 1

    assert not seen(bytes(data)).intact


def test_what_stands_before_the_signature_stays_as_it_was(paper, certificate):
    data = signed_paper(paper)

    assert data.startswith(paper)
    assert PdfReader(BytesIO(data)).pages[0].extract_text().startswith("What was applied.")


def test_without_a_certificate_nothing_is_signed(paper, settings):
    settings.PAPER_CERTIFICATE = ""

    assert signed_paper(paper) == paper
    assert check_paper_certificate() == []


def test_a_wrong_password_stops_the_start_and_no_paper_goes_out_unsigned(
    paper, certificate, settings
):
    settings.PAPER_PASSWORD = "another"

    assert [each.id for each in check_paper_certificate()] == ["services.E011"]
    with pytest.raises(NoCertificate):
        signed_paper(paper)


def test_a_record_that_is_printed_is_signed(client, owner, stated, certificate):
    record = record_application(**stated)
    client.force_login(owner)

    answer = client.get(reverse("services:record_pdf", args=[record.number]))

    assert seen(answer.content).intact
