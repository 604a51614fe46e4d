"""What the journal keeps of store and certificates: ledger lines of no record, and each change."""

from datetime import datetime
from typing import Any

from treatments import chain
from treatments.models import (
    Certificate,
    CopyGiven,
    JournalEntry,
    RecordSigned,
    ReturnFiled,
    StockEntry,
)
from treatments.rules import journal
from treatments.rules.canonical import plain


def told(said: dict[str, Any]) -> dict[str, object]:
    """Return what is said in the words of an entry."""
    return {name: plain(value) for name, value in said.items()}


def stock_columns(entry: StockEntry) -> dict[str, object]:
    """Return the columns of a ledger line as its entry repeats them, with its locker if any."""
    locker = getattr(entry, "locker_id", None)  # of before trucks had lockers it has no such column
    in_locker = {"locker": locker} if locker else {}
    record = getattr(entry, "moved_for_id", None)
    for_record = {"moved_for": record} if record else {}
    return told(
        {
            "stock_entry": entry.pk,
            "lot": entry.lot_id,
            "change": entry.kind,
            "amount": f"{entry.amount:.3f}",
            "happened_at": entry.happened_at,
            "entered_at": entry.entered_at,
            "entered_by": entry.entered_by_id,
            "note": entry.note,
            **in_locker,
            **for_record,
        }
    )


def journal_stock(entry: StockEntry) -> JournalEntry:
    """Append a ledger line of no record; a record's own lines follow from the record."""
    return chain.append(**stock_draft(entry)._asdict())


def stock_draft(entry: StockEntry) -> chain.Draft:
    """Return the entry of a ledger line of no record, before it has a place."""
    lot = entry.lot
    names = told({"lot_number": lot.lot_number, "product": lot.product.name})
    if entry.locker is not None:
        names |= told({"truck": entry.locker.name})
    return chain.Draft(
        journal.STOCK,
        stock_columns(entry) | names,
        entry_id=journal.entry_id_of(journal.STOCK, entry.pk),
        actor=chain.actor_of(entry.entered_by),
        recorded_at=entry.entered_at,
    )


def journal_certificate(certificate: Certificate, *, by: Any, at: datetime) -> JournalEntry:
    """Append a certificate as it was entered or changed; in the transaction that did so."""
    return chain.append_change(
        journal.CERTIFICATE,
        certificate.pk,
        certificate_columns(certificate) | told({"applicator_name": certificate.applicator.name}),
        actor=chain.actor_of(by),
        recorded_at=at,
    )


def certificate_columns(certificate: Certificate) -> dict[str, object]:
    """Return the columns of a certificate as its entries repeat them."""
    said = {
        "certificate": certificate.pk,
        "applicator": certificate.applicator_id,
        "number": certificate.number,
        "jurisdiction": certificate.jurisdiction,
        "categories": certificate.categories,
        "issued_on": certificate.issued_on,
        "expires_on": certificate.expires_on,
        "is_limited": certificate.is_limited,
        "bars_restricted_use": certificate.bars_restricted_use,
        "own_property_only": certificate.own_property_only,
        "suspended_from": certificate.suspended_from,
        "reinstated_on": certificate.reinstated_on,
    }
    return told(said)


def journal_signature(signed: RecordSigned) -> JournalEntry:
    """Append who signed a record, by the id of the entry that keeps it."""
    return chain.append(
        journal.SIGNATURE,
        signature_columns(signed),
        entry_id=journal.entry_id_of(journal.SIGNATURE, signed.record.number),
        actor=chain.actor_of(signed.signed_by),
        recorded_at=signed.signed_at,
    )


def signature_columns(signed: RecordSigned) -> dict[str, object]:
    """Return what a signature says, as its entry repeats it."""
    number = signed.record.number
    said = {
        "record": number,
        "record_entry": journal.entry_text_of(journal.RECORD, number),
        "signed_by": signed.signed_by_id,
        "signer_name": signed.signer_name,
        "certificate_number": signed.certificate_number,
        "signed_at": signed.signed_at,
    }
    return told(said)


def journal_copy(given: CopyGiven) -> JournalEntry:
    """Append that a client has a copy of a record."""
    return chain.append(
        journal.COPY,
        copy_columns(given),
        entry_id=journal.entry_id_of(journal.COPY, given.pk),
        actor=chain.actor_of(given.given_by),
        recorded_at=given.noted_at,
    )


def copy_columns(given: CopyGiven) -> dict[str, object]:
    """Return what is kept of a copy that was given, as its entry repeats it."""
    return told(
        {
            "copy": given.pk,
            "record": given.record.number,
            "given_on": given.given_on,
            "way": given.way,
            "given_by": given.given_by_id,
        }
    )


def journal_return(filed: ReturnFiled) -> JournalEntry:
    """Append that a return was filed."""
    return chain.append(
        journal.RETURN,
        return_columns(filed),
        entry_id=journal.entry_id_of(journal.RETURN, filed.pk),
        actor=chain.actor_of(filed.filed_by),
        recorded_at=filed.noted_at,
    )


def return_columns(filed: ReturnFiled) -> dict[str, object]:
    """Return what is kept of a return that was filed, as its entry repeats it."""
    return told(
        {
            "return": filed.pk,
            "jurisdiction": filed.jurisdiction,
            "first_day": filed.first_day,
            "filed_on": filed.filed_on,
            "how": filed.how,
            "filed_by": filed.filed_by_id,
        }
    )
