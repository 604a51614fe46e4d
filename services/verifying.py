"""Checks the whole book: the journal and every table that it repeats."""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Prefetch, Q, QuerySet

from clients.access import Role
from services.field.photos import original_of
from services.journaling import (
    CONTACT,
    LIFTED,
    told_contact,
    told_dispatch,
    told_hold,
    told_lift,
    told_notice,
    told_person,
    told_photos,
    told_stop,
)
from services.models import ContactAttempt, Dispatch, FieldEvent, Hold, Outbox, Visit
from treatments.models import JournalEntry
from treatments.rules import journal
from treatments.rules.canonical import NotCanonical, parse
from treatments.rules.journal_walk import Fault, Read
from treatments.verifying import KeptTable, LastToldTable, Verdict, verify_book

PIECE = 1024 * 1024  # bytes of a photo that are held at a time
TOLD_EVERY = 500  # photos

Tell = Callable[[int, int], None]


def say_nothing(_files: int, _bytes: int) -> None:
    """Tell nobody."""


def verify(
    outside: Sequence[str] = (), photos: Path | None = None, tell: Tell = say_nothing
) -> Verdict:
    """Check the journal of this book, all tables that it repeats, and the photos by their hashes.

    outside: texts of checkpoints that others kept; photos: where they lie, if not where they do;
    tell: is told, now and then and at the end, how many photos were read and of how many bytes
    """
    return verify_book(outside, tables_of_schedule(photos, tell))


def tables_of_schedule(photos: Path | None = None, tell: Tell = say_nothing) -> list[KeptTable]:
    """Return holds, notices, tries, photos, routes and roles, each with the entries of its own.

    Rows older than the journal have no entry: nobody wrote one then.
    """
    began = _began()
    sent = Outbox.objects.filter(kind=Outbox.Kind.NOTICE, done_at__isnull=False)
    return [
        _table(journal.HOLD, "hold", journal.HOLD, Hold.objects.all(), told_hold, "set_at", began),
        _table(
            journal.HOLD_LIFTED,
            "hold",
            LIFTED,
            Hold.objects.filter(lifted_at__isnull=False),
            told_lift,
            "lifted_at",
            began,
        ),
        _table(journal.NOTICE, "outbox", journal.NOTICE, sent, told_notice, "done_at", began),
        _table(
            journal.NOTICE,
            "contact_attempt",
            CONTACT,
            ContactAttempt.objects.all(),
            told_contact,
            "at",
            began,
        ),
        Photos(photos, tell),
        Routes(),
        Roles(),
    ]


class Photos(KeptTable):
    """What phones announced, and the files that came: each is what its name and its entry say.

    Phones take a photo for gone only once it is here; one that has not come yet is no fault.
    Of a file so much is held as is read at a time, however large it is and however many there are.
    """

    def __init__(self, folder: Path | None, tell: Tell = say_nothing) -> None:
        self._folder, self._tell = folder, tell
        self._files = self._bytes = 0
        super().__init__(
            journal.PHOTOS, "field_event", noun=journal.PHOTOS, rows_of=self._told, ids=self._since
        )

    def _told(self, ids: Sequence[int]) -> dict[int, Mapping[str, Any]]:
        events = FieldEvent.objects.filter(pk__in=ids).prefetch_related("photos")
        return {
            event.pk: told_photos(event)
            | {"files": [each for each in event.photos.all() if each.kept_at]}
            for event in events
        }

    def _since(self, lowest: int | None) -> Iterable[int]:
        if lowest is None:
            return ()
        events = FieldEvent.objects.filter(pk__gte=lowest, photos__isnull=False)
        return events.order_by("pk").values_list("pk", flat=True).distinct()

    def differing(self, row: Mapping[str, Any], body: Mapping[str, Any]) -> Iterable[str]:
        """Yield the columns of which the entry says otherwise, and each file that is another."""
        plain = {name: value for name, value in row.items() if name != "files"}
        yield from super().differing(plain, body)
        for photo in row["files"]:
            if not self._is_as_it_came(original_of(photo, self._folder), photo.sha256):
                yield f"the file {photo.sha256[:12]}"

    def end(self) -> Iterator[Fault]:
        """Hold what is left against its rows, and tell how much was read in all."""
        yield from super().end()
        if self._files:
            self._tell(self._files, self._bytes)

    def _is_as_it_came(self, path: Path, sha256: str) -> bool:
        if not path.is_file():
            return False
        digest = hashlib.sha256()
        with path.open("rb") as file:
            while piece := file.read(PIECE):
                digest.update(piece)
                self._bytes += len(piece)
        self._files += 1
        if self._files % TOLD_EVERY == 0:
            self._tell(self._files, self._bytes)
        return digest.hexdigest() == sha256


class Routes(LastToldTable):
    """Routes and the last entry of each, which tells every stop that is on it now.

    A stop that was put off or moved has left its route, and an empty route is gone: their reasons
    have entries of their own.
    """

    def __init__(self) -> None:
        super().__init__(
            journal.DISPATCH,
            "dispatch",
            noun=journal.DISPATCH,
            rows_of=self._told,
            ids=self._since,
        )

    def _told(self, ids: Sequence[int]) -> dict[int, dict[str, object]]:
        stops = Prefetch("visits", Visit.objects.order_by("position"))
        routes = Dispatch.objects.filter(pk__in=ids).prefetch_related(stops)
        told = {
            route.pk: told_dispatch(route) | {"stops": [*map(told_stop, route.visits.all())]}
            for route in routes
        }
        return {pk: told.get(pk, {}) for pk in ids}

    def _since(self, lowest: int | None) -> Iterable[int]:
        routes = Dispatch.objects.order_by("pk").filter(pk__gte=lowest or 0)
        return routes.values_list("pk", flat=True) if lowest is not None else ()

    def differing(self, row: Mapping[str, Any], body: Mapping[str, Any]) -> Iterable[str]:
        """Yield the columns of which the entry says otherwise; of stops, whether it lacks one.

        The first entries told the crew by its name alone.
        """
        keys = ("visit", "arrives_at")
        told = [{key: stop.get(key) for key in keys} for stop in body.get("stops", [])]
        beside = {"stops"} if "crew_number" in body else {"stops", "crew_number"}
        plain = {name: value for name, value in row.items() if name not in beside}
        yield from super().differing(plain, body)
        if any(stop not in told for stop in row.get("stops", [])):
            yield "stops"


class Roles(LastToldTable):
    """People and the last entry of each, which tells in which role they may sign in now.

    A book that begins with its owner's own entry has one for everybody who has a role.
    """

    def __init__(self) -> None:
        self._is_whole = False
        super().__init__(
            journal.ROLE, "user", noun=journal.ROLE, rows_of=self._told, ids=self._with_a_role
        )

    def step(self, seq: int, read: Read) -> Iterator[Fault]:
        """Remember an entry, and whether the book begins with its owner's."""
        self._is_whole |= seq == 0 and read.body.get("role") == Role.OWNER
        return super().step(seq, read)

    def _told(self, ids: Sequence[int]) -> dict[int, dict[str, object]]:
        people = User.objects.filter(pk__in=ids).prefetch_related("groups")
        return {person.pk: told_person(person, _role_in_groups(person)) for person in people}

    def _with_a_role(self, _lowest: int | None) -> Iterable[int]:
        if not self._is_whole:
            return ()
        people = User.objects.filter(is_active=True, groups__name__in=Role.values)
        return people.order_by("pk").values_list("pk", flat=True).distinct()


def _role_in_groups(person: User) -> str:
    """Return the role of a person as the tables have it, "" of who may not sign in."""
    names = sorted(group.name for group in person.groups.all())
    return ", ".join(names) if person.is_active else ""


def _began() -> str:
    """Return when the journal began, as its first envelope says; "" where it has not."""
    envelope = JournalEntry.objects.order_by("seq").values_list("envelope", flat=True).first()
    try:
        return str(parse(envelope)["recorded_at"]) if envelope else ""
    except (NotCanonical, KeyError, TypeError):
        return ""


def _table(
    kind: str, key: str, noun: str, rows: QuerySet[Any], told: Any, when: str, began: str
) -> KeptTable:
    last = rows.order_by("-pk").values_list("pk", flat=True).first() or 0
    since = Q(**{f"{when}__gte": began}) if began else Q()
    return KeptTable(
        kind,
        key,
        noun=noun,
        rows_of=lambda ids: {row.pk: told(row) for row in rows.filter(pk__in=ids)},
        ids=lambda lowest: (
            rows.filter(since if lowest is None else since | Q(pk__gte=lowest), pk__lte=last)
            .order_by("pk")
            .values_list("pk", flat=True)
            .iterator()
        ),
    )
