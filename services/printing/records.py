"""Application records as they are printed: what holds now, and each amendment under it."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.utils import translation
from django.utils.translation import gettext as _

from services.models import FieldPhoto
from services.pictures import photos_of_records
from services.printing.heads import log_head
from services.printing.imprints import imprint_for
from services.sheets import application_record as sheet
from treatments.models import ApplicationRecord
from treatments.recording import Revision, fields_of, history_of, with_unit
from treatments.recording.clocks import rules_of
from treatments.rulebook import confirmed_facts
from treatments.rules.records import SURE
from treatments.saying import cited, say_flag

NOWHERE = "UTC"


def records_pdf(
    records: Iterable[ApplicationRecord],
    *,
    language: str,
    now: datetime,
    with_index: bool = False,
) -> bytes:
    """Return records as a PDF, each with its amendments; a row of amendments is printed once."""
    rows = {row[0].record.number: row for row in map(history_of, records)}
    zone = next((row[-1].record.time_zone for row in rows.values()), NOWHERE) or NOWHERE
    photos = photos_of_records(row[-1].record.number for row in rows.values())
    with translation.override(language):
        printed = tuple(
            printed_record(
                row, [_photo_said(each) for each in photos.get(row[-1].record.number, ())]
            )
            for row in rows.values()
        )
    imprint = imprint_for(language, now, zone)
    return sheet.draw_application_records(
        sheet.ApplicationRecords(imprint, printed, log_head(), with_index)
    )


def _photo_said(photo: FieldPhoto) -> str:
    """Return a photo by the first digits of its SHA-256; the journal has the whole."""
    digits = f"{photo.sha256[:16]} …"
    of_sign = _("of the sign")
    return f"{digits} ({of_sign})" if photo.shows_sign else digits


def printed_record(row: list[Revision], photos: Sequence[str] = ()) -> sheet.ApplicationRecord:
    """Return a record with those that amend it, first to last, as the sheet draws them.

    photos: those that the crew took there, as they are told
    """
    first, current = row[0].record, row[-1].record
    return sheet.ApplicationRecord(
        number=str(first.number),
        times=sheet.Times(current.done_at, first.received_at, first.captured_at),
        values=fields_of(current) | _proof(current) | {"photos": ", ".join(photos)},
        rule_sets=tuple(_rule_sets(current)),
        flags=tuple(_flags(row)),
        amendments=tuple(_amendment(revision) for revision in row[1:]),
        void=_void(current) if current.void else None,
        first_aid=current.first_aid,
        signal_word=current.signal_word,
    )


def _proof(record: ApplicationRecord) -> dict[str, str]:
    """Return what no rule asks for and the record holds all the same."""
    return {
        "mode_of_action": record.mode_of_action_groups,
        "lot_number": record.lot_number,
        "ppe_worn": record.protective_equipment,
        "posting": _posting(record),
        "notices": record.notices,
        "label_version": record.label_version,
        "signature": _signature(record),
    }


def _signature(record: ApplicationRecord) -> str:
    signed = getattr(record, "signed", None)
    if signed is None:
        return _("not signed in the book")
    facts = {
        "name": signed.signer_name,
        "number": signed.certificate_number,
        "moment": _there(record, signed.signed_at),
    }
    return _("%(name)s, certificate %(number)s, %(moment)s") % facts


def _posting(record: ApplicationRecord) -> str:
    told = [record.posting]
    if record.posted_at:
        told.append(_("posted %(moment)s") % {"moment": _there(record, record.posted_at)})
    if record.posted_at and record.removal_at:
        told.append(_("stays until %(moment)s") % {"moment": _there(record, record.removal_at)})
    return "; ".join(part for part in told if part)


def _there(record: ApplicationRecord, moment: datetime) -> str:
    return f"{moment.astimezone(ZoneInfo(record.time_zone)):%Y-%m-%d %H:%M}"


def _rule_sets(record: ApplicationRecord) -> list[sheet.RuleSet]:
    told = [
        sheet.RuleSet(
            rule.code,
            rule.name if rule.is_own else _(rule.name),
            cited(rule.citation),
            verified=rule.mark_of("required_fields") in SURE,
        )
        for rule in rules_of(record, confirmed_facts())
    ]
    unread = sheet.RuleSet(record.jurisdiction, record.jurisdiction, _("no rule was read"))
    return told or [unread]


def _flags(row: list[Revision]) -> Iterable[str]:
    """Return what the office must look at, said once even where an amendment kept it."""
    said = (say_flag(flag) for revision in row for flag in revision.record.flags)
    return dict.fromkeys(said)


def _amendment(revision: Revision) -> sheet.Amendment:
    record = revision.record
    return sheet.Amendment(
        number=str(record.number),
        made_at=record.received_at,
        author=_name(record.recorded_by),
        approved_by=_approved_by(record),
        reason=record.amendment_reason,
        changes=tuple(
            sheet.Change(
                _(change.name),
                with_unit(record.amends or record, change.column, _shown(record, change.before)),
                with_unit(record, change.column, _shown(record, change.after)),
            )
            for change in revision.differences
        ),
    )


def _void(record: ApplicationRecord) -> sheet.Void:
    return sheet.Void(
        record.amendment_reason,
        record.received_at,
        _name(record.recorded_by),
        _approved_by(record),
    )


def _approved_by(record: ApplicationRecord) -> str:
    """Return who agreed to a correction and when; "" where that was not asked."""
    if record.approved_by is None or record.approved_at is None:
        return ""
    facts = {"name": _name(record.approved_by), "moment": _there(record, record.approved_at)}
    return _("%(name)s on %(moment)s") % facts


def _name(user: User | None) -> str:
    return user.get_full_name() or user.get_username() if user else "–"


def _shown(record: ApplicationRecord, value: Any) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, datetime):
        return _there(record, value)
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return "" if value is None else str(value)
