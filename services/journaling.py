"""What the journal keeps of schedule and people: holds, notices, photos, routes and roles."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from hashlib import sha256
from uuid import uuid4

from django.contrib.auth.models import User
from django.core.mail import EmailMessage
from django.utils import timezone

from services.models import (
    ContactAttempt,
    Dispatch,
    EstimateAnswer,
    FieldEvent,
    Hold,
    Outbox,
    Visit,
)
from treatments import chain
from treatments.journaling import told as _told
from treatments.rules import journal
from treatments.rules.canonical import plain

LIFTED = "hold lifted"
CONTACT = "contact attempt"


def told_hold(hold: Hold) -> dict[str, object]:
    """Return what a hold says of itself, as its entry repeats it."""
    return _told(
        {
            "hold": hold.pk,
            "visit": hold.visit_id,
            "reason": hold.reason,
            "note": hold.note,
            "set_at": hold.set_at,
        }
    )


def told_lift(hold: Hold) -> dict[str, object]:
    """Return what a lifted hold says of its end."""
    return _told({"hold": hold.pk, "visit": hold.visit_id, "lifted_at": hold.lifted_at})


def told_notice(row: Outbox) -> dict[str, object]:
    """Return what the row of a notice says that went out."""
    return _told({"outbox": row.pk, "key": row.dedupe_key, "sent_at": row.done_at, **row.arguments})


def journal_hold(hold: Hold, recorded_at: datetime) -> None:
    """Append that a visit was put off; in the transaction that did so."""
    visit, place = hold.visit, hold.visit.course.property
    said = {
        "client": place.client.name,
        "site_address": place.address(),
        "jurisdiction": place.jurisdiction,
        "week": visit.week,
        "planned": visit.planned,
        "set_by": hold.set_by.get_username() if hold.set_by else None,
    }
    chain.append(
        journal.HOLD,
        told_hold(hold) | _told(said),
        entry_id=journal.entry_id_of(journal.HOLD, hold.pk),
        actor=chain.actor_of(hold.set_by),
        recorded_at=recorded_at,
    )


def journal_lift(hold: Hold, at: datetime) -> None:
    """Append that a hold was lifted; in the transaction that did so."""
    set_by = journal.entry_id_of(journal.HOLD, hold.pk)
    said = {
        "lifted_by": hold.lifted_by.get_username() if hold.lifted_by else None,
        "planned": hold.visit.planned,
    }
    chain.append(
        journal.HOLD_LIFTED,
        told_lift(hold) | {"lifted_at": plain(at)} | _told(said),
        entry_id=journal.entry_id_of(LIFTED, hold.pk),
        amends=set_by if chain.has_entry(set_by) else None,
        actor=chain.actor_of(hold.lifted_by),
        recorded_at=at,
    )


def told_photos(event: FieldEvent) -> dict[str, object]:
    """Return which photos belong to what a phone said, as its entry repeats them."""
    photos = [{"sha256": each.sha256, "size": each.size} for each in event.photos.all()]
    return _told({"field_event": event.pk, "photos": photos})


def journal_photos(event: FieldEvent, recorded_at: datetime) -> None:
    """Append which photos belong to what a phone said, by their hashes; the files come later."""
    said: dict[str, object] = {
        "event": str(event.event_id),
        "visit": event.visit_id,
        "records": [record.number for record in event.records.order_by("number")],
        "done_at": event.done_at,
    }
    chain.append(
        journal.PHOTOS,
        told_photos(event) | _told(said),
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


def told_contact(attempt: ContactAttempt) -> dict[str, object]:
    """Return what is kept of a try to tell somebody, as its entry repeats it."""
    return _told(
        {
            "contact_attempt": attempt.pk,
            "visit": attempt.visit_id,
            "day": attempt.day,
            "person": attempt.person,
            "name": attempt.name,
            "at": attempt.at,
            "way": attempt.way,
            "outcome": attempt.outcome,
            "note": attempt.note,
        }
    )


def journal_contact(attempt: ContactAttempt) -> None:
    """Append that somebody tried to tell a person of a visit; in the transaction that kept it."""
    chain.append(
        journal.NOTICE,
        told_contact(attempt),
        entry_id=journal.entry_id_of(CONTACT, attempt.pk),
        actor=chain.actor_of(attempt.made_by),
        recorded_at=timezone.now(),
    )


def journal_papers(row: Outbox, letter: EmailMessage, at: datetime) -> None:
    """Append which papers went out with a mail, by their hashes; with the mark that it did."""
    files = [(str(name), data) for name, data, _kind in letter.attachments if data]
    if not files:
        return
    said = {
        "outbox": row.pk,
        "key": row.dedupe_key,
        "to": list(letter.to),
        "papers": [hashed(name, data) for name, data in files],
        "sent_at": at,
    }
    chain.append(
        journal.PAPER,
        _told(said),
        entry_id=journal.entry_id_of(journal.PAPER, row.pk),
        recorded_at=at,
    )


def journal_package(papers: Sequence[Mapping[str, object]], by: User | None, at: datetime) -> None:
    """Append which package was handed to whom, by the hashes of what is in it.

    papers: each as `hashed` tells it
    """
    said = {"papers": [dict(each) for each in papers], "handed_at": at}
    chain.append(
        journal.PAPER,
        _told(said),
        entry_id=uuid4(),
        actor=chain.actor_of(by),
        recorded_at=at,
    )


def journal_answer(answer: EstimateAnswer) -> None:
    """Append what a client answered, through which link, and the hash of the paper."""
    estimate = answer.estimate
    paper = {
        "name": f"estimate-{estimate.number}.pdf",
        "sha256": answer.paper_sha256,
        "size": len(estimate.paper),
    }
    said = {
        "papers": [paper],
        "estimate": estimate.pk,
        "answer": answer.answer,
        "words": answer.words,
        "link": answer.link_id,
        "answered_at": answer.at,
    }
    chain.append(journal.PAPER, _told(said), entry_id=uuid4(), recorded_at=answer.at)


def journal_export(
    size: int, digest: str, manifest: Mapping[str, object], by: User | None, at: datetime
) -> None:
    """Append that the whole book was taken out, by the hashes of the file and of its manifest."""
    book = {"name": "book.zip", "sha256": digest, "size": size}
    journal_package([book, manifest], by, at)


def hashed(name: str, data: bytes | str) -> dict[str, object]:
    """Return name, SHA-256 and length of a file as it was handed out."""
    octets = data.encode() if isinstance(data, str) else bytes(data)
    return {"name": name, "sha256": sha256(octets).hexdigest(), "size": len(octets)}


def told_person(user: User, role: str) -> dict[str, object]:
    """Return under which name and in which role a person signs in, "" for none."""
    return _told({"user": user.pk, "username": user.get_username(), "role": role})


def journal_role(user: User, role: str, *, by: User | None, at: datetime) -> None:
    """Append which role a person has from now on, "" for none; with the change itself."""
    chain.append_change(
        journal.ROLE,
        user.pk,
        told_person(user, role),
        actor=chain.actor_of(by),
        recorded_at=at,
    )


def told_dispatch(dispatch: Dispatch) -> dict[str, object]:
    """Return what a route says of itself beside its stops."""
    return _told({"dispatch": dispatch.pk, "crew_number": dispatch.crew_id, "day": dispatch.day})


def told_stop(visit: Visit) -> dict[str, object]:
    """Return what a visit says of its place on a route; its number is another one once one left."""
    return _told({"visit": visit.pk, "arrives_at": visit.arrives_at})


def journal_dispatch(dispatch: Dispatch, *, kind: str, by: User | None, at: datetime) -> None:
    """Append which stops a crew was given, or that they were taken back, as it stands now."""
    stops = dispatch.visits.order_by("position").select_related("course__property")
    said = told_dispatch(dispatch) | {
        "crew": dispatch.crew.name,
        "change": kind,
        "stops": [
            told_stop(visit)
            | {"position": visit.position, "site_address": visit.course.property.address()}
            for visit in stops
        ],
    }
    chain.append_change(
        journal.DISPATCH, dispatch.pk, _told(said), actor=chain.actor_of(by), recorded_at=at
    )


def journal_removal(client_id: int, *, by: User | None, at: datetime) -> None:
    """Append that a client's card names nobody any more."""
    chain.append_change(
        journal.REMOVAL,
        client_id,
        _told({"client": client_id}),
        actor=chain.actor_of(by),
        recorded_at=at,
    )
