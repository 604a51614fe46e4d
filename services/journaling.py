"""What the journal keeps of the schedule: holds set and lifted, notices sent, photos announced."""

from datetime import datetime

from django.core.mail import EmailMessage

from services.models import FieldEvent, Hold, Outbox
from treatments import chain
from treatments.rules import journal
from treatments.rules.canonical import plain

LIFTED = "hold lifted"


def journal_hold(hold: Hold, recorded_at: datetime) -> None:
    """Append that a visit was put off; in the transaction that did so."""
    visit, place = hold.visit, hold.visit.course.property
    said = {
        "hold": hold.pk,
        "visit": visit.pk,
        "client": place.client.name,
        "site_address": place.address(),
        "jurisdiction": place.jurisdiction,
        "week": visit.week,
        "planned": visit.planned,
        "reason": hold.reason,
        "note": hold.note,
        "set_at": hold.set_at,
        "set_by": hold.set_by.get_username() if hold.set_by else None,
    }
    chain.append(
        journal.HOLD,
        _told(said),
        entry_id=journal.entry_id_of(journal.HOLD, hold.pk),
        actor=chain.actor_of(hold.set_by),
        recorded_at=recorded_at,
    )


def journal_lift(hold: Hold, at: datetime) -> None:
    """Append that a hold was lifted; in the transaction that did so."""
    set_by = journal.entry_id_of(journal.HOLD, hold.pk)
    said = {
        "hold": hold.pk,
        "visit": hold.visit_id,
        "lifted_at": at,
        "lifted_by": hold.lifted_by.get_username() if hold.lifted_by else None,
        "planned": hold.visit.planned,
    }
    chain.append(
        journal.HOLD_LIFTED,
        _told(said),
        entry_id=journal.entry_id_of(LIFTED, hold.pk),
        amends=set_by if chain.has_entry(set_by) else None,
        actor=chain.actor_of(hold.lifted_by),
        recorded_at=at,
    )


def journal_photos(event: FieldEvent, recorded_at: datetime) -> None:
    """Append which photos belong to what a phone said, by their hashes; the files come later."""
    photos = event.photos.order_by("pk").values("sha256", "size")
    said: dict[str, object] = {
        "event": str(event.event_id),
        "visit": event.visit_id,
        "records": [record.number for record in event.records.order_by("number")],
        "photos": list(photos),
        "done_at": event.done_at,
    }
    chain.append(
        journal.PHOTOS,
        _told(said),
        entry_id=journal.entry_id_of(journal.PHOTOS, event.pk),
        actor=chain.actor_of(event.person),
        recorded_at=recorded_at,
    )


def journal_notice(row: Outbox, letter: EmailMessage, at: datetime) -> None:
    """Append that a notice went out, to whom and in which words; with the mark that it did."""
    said = {
        "outbox": row.pk,
        "key": row.dedupe_key,
        "to": list(letter.to),
        "subject": str(letter.subject),
        "text": str(letter.body),
        "sent_at": at,
        **row.arguments,
    }
    chain.append(
        journal.NOTICE,
        _told(said),
        entry_id=journal.entry_id_of(journal.NOTICE, row.pk),
        recorded_at=at,
    )


def _told(said: dict[str, object]) -> dict[str, object]:
    return {name: plain(value) for name, value in said.items()}
