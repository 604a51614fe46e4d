"""Asks to correct a record, and answers: agreed, a second record is kept; declined, none is."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Model
from django.utils.translation import gettext_lazy as _

from treatments import chain
from treatments.approval import amends_alone, may_answer, may_ask, may_ask_to_void
from treatments.models import ApplicationRecord, Correction, CorrectionAnswer
from treatments.recording import amend_application, void_application
from treatments.recording.amending import columns_of, refuse_amendment
from treatments.recording.entries import NOUN
from treatments.recording.numbering import lock_records
from treatments.rules import journal
from treatments.rules.canonical import plain

ASKED, ANSWERED = "correction", "correction answered"


@transaction.atomic
def correct_record(
    record: ApplicationRecord,
    *,
    reason: str,
    by: Any,
    at: datetime,
    event_id: UUID | None = None,
    **changes: Any,
) -> ApplicationRecord | Correction:
    """Amend a record, or ask for it where that takes somebody's approval."""
    if amends_alone(by, record, at):
        return amend_application(record, reason=reason, by=by, event_id=event_id, **changes)
    if not may_ask(by, record):
        raise _not_yours()
    before = columns_of(record)
    changed = {name: value for name, value in changes.items() if before.get(name) != value}
    if not changed:
        raise ValidationError(_("Nothing is changed by this amendment."), code="nothing_changed")
    return _ask(record, reason, by, at, event_id, changes=changed)


@transaction.atomic
def ask_to_void(
    record: ApplicationRecord, *, reason: str, by: Any, at: datetime, event_id: UUID | None = None
) -> Correction:
    """Ask that a record be declared void."""
    if not may_ask_to_void(by, record, at):
        raise _not_yours()
    return _ask(record, reason, by, at, event_id, void=True)


@transaction.atomic
def agree(correction: Correction, *, by: Any, at: datetime) -> ApplicationRecord:
    """Agree to a correction, and keep the second record that it asks for; once for all."""
    lock_records()
    if (known := answer_to(correction)) is not None:
        if known.kept is None:
            raise _answered()
        return known.kept
    refuse_answer(correction, by, at)
    told: dict[str, Any] = {
        "reason": correction.reason,
        "by": correction.asked_by,
        "approved_by": by,
        "now": at,
    }
    if correction.void:
        kept = void_application(correction.record, **told)
    else:
        kept = amend_application(correction.record, **told, **changes_of(correction))
    _keep_answer(correction, by, at, agreed=True, kept=kept)
    return kept


@transaction.atomic
def decline(correction: Correction, *, by: Any, at: datetime, note: str = "") -> bool:
    """Decline a correction; say whether that is new.  The record stands as it is."""
    lock_records()
    if (known := answer_to(correction)) is not None:
        if known.agreed:
            raise _answered()
        return False
    refuse_answer(correction, by, at)
    _keep_answer(correction, by, at, agreed=False, note=note)
    return True


def answer_to(correction: Correction) -> CorrectionAnswer | None:
    """Return what was answered to a correction, or None."""
    return CorrectionAnswer.objects.filter(correction=correction).select_related("kept").first()


def refuse_answer(correction: Correction, by: Any, at: datetime) -> None:
    """Raise ValidationError where a person may not answer a correction at a moment."""
    if not may_answer(by, correction, at):
        raise ValidationError(
            _("Somebody else must agree to this: who asked does not, and it takes a certificate."),
            code="not_yours",
        )


def changes_of(correction: Correction) -> dict[str, Any]:
    """Return what a correction changes, as an amendment is told of it."""
    return {name: _read(name, value) for name, value in correction.changes.items()}


def _ask(
    record: ApplicationRecord,
    reason: str,
    by: Any,
    at: datetime,
    event_id: UUID | None,
    *,
    void: bool = False,
    changes: dict[str, Any] | None = None,
) -> Correction:
    lock_records()
    if event_id and (known := Correction.objects.filter(event_id=event_id).first()):
        return known
    refuse_amendment(record, reason)
    _refuse_second(record)
    told = {name: _written(value) for name, value in (changes or {}).items()}
    asked = Correction(
        record=record,
        void=void,
        changes=told,
        reason=reason.strip(),
        asked_by=by,
        asked_at=at,
        event_id=event_id,
    )
    asked.full_clean()
    asked.save()
    _journal(journal.CORRECTION_ASKED, (ASKED, asked.pk), asked_columns(asked), record, by, at)
    return asked


def _refuse_second(record: ApplicationRecord) -> None:
    waiting = Correction.objects.waiting().filter(record=record).first()
    if waiting is not None:
        raise ValidationError(
            _("A correction of record %(number)s waits for an answer already."),
            params={"number": record.number},
            code="waiting",
        )


def _keep_answer(
    correction: Correction,
    by: Any,
    at: datetime,
    *,
    agreed: bool,
    kept: ApplicationRecord | None = None,
    note: str = "",
) -> None:
    answer = CorrectionAnswer(
        correction=correction, agreed=agreed, note=note, answered_by=by, answered_at=at, kept=kept
    )
    answer.full_clean()
    answer.save()
    _journal(
        journal.CORRECTION_ANSWERED,
        (ANSWERED, correction.pk),
        answered_columns(answer),
        correction.record,
        by,
        at,
    )


def asked_columns(asked: Correction) -> dict[str, Any]:
    """Return what is kept of what somebody asked to correct, as its entry repeats it."""
    return {
        "correction": asked.pk,
        "of_record": asked.record.number,
        "reason": plain(asked.reason),
        "void": asked.void,
        "changes": plain(_as_text(asked.changes)),
    }


def answered_columns(answer: CorrectionAnswer) -> dict[str, Any]:
    """Return what is kept of an answer to a correction, as its entry repeats it."""
    return {
        "correction": answer.correction_id,
        "agreed": answer.agreed,
        "note": plain(answer.note),
        "kept": answer.kept.number if answer.kept else None,
    }


def _journal(
    kind: str,
    named: tuple[str, int],
    said: dict[str, Any],
    record: ApplicationRecord,
    by: Any,
    at: datetime,
) -> None:
    """Append what was asked or answered, of which record and by whom."""
    body = {"of_record": record.number, "person": by.get_username(), **said}
    chain.append(
        kind,
        {name: plain(value) for name, value in body.items()},
        entry_id=journal.entry_id_of(*named),
        amends=None if kind == journal.CORRECTION_ASKED else _entry_of(record),
        actor=chain.actor_of(by),
        recorded_at=at,
    )


def _entry_of(record: ApplicationRecord) -> UUID | None:
    entry = journal.entry_id_of(NOUN, record.number)
    return entry if chain.has_entry(entry) else None


def _as_text(changes: dict[str, Any]) -> list[str]:
    return [f"{name}: {value}" for name, value in sorted(changes.items())]


def _written(value: Any) -> Any:
    """Return a value as JSON holds it: a thing by its id, an amount and a moment as text."""
    if isinstance(value, Model):
        return value.pk
    if isinstance(value, (datetime, date)):
        return value.isoformat()
    return str(value) if isinstance(value, Decimal) else value


def _read(name: str, value: Any) -> Any:
    field: Any = ApplicationRecord._meta.get_field(name)
    if field.is_relation:
        return None if value is None else field.related_model.objects.get(pk=value)
    return field.to_python(value)


def _not_yours() -> ValidationError:
    return ValidationError(_("This record is not yours to correct."), code="not_yours")


def _answered() -> ValidationError:
    return ValidationError(_("This correction was answered already."), code="answered")
