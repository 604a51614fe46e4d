"""The letters that go out: who gets one, in which language, and what it says."""

from collections.abc import Callable
from importlib import import_module
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.mail import EmailMessage
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Client, Neighbour
from services.models import DayAsked, Dispatch, Estimate, Outbox, Technician, Visit
from services.telling.links import make_link
from services.telling.stopping import may_be_stopped, stop_address
from services.telling.wording import languages_of, notice_in
from treatments.models import ApplicationRecord, Business, Checkpoint

NO_ADDRESS = gettext_lazy(
    "There is no email address to send this to, or mail came back from the one that is known."
)
LETTERS_STOPPED = gettext_lazy(
    "The client has stopped letters that no rule asks for; hand it over on paper, or ask."
)


class NobodyToTell(ValueError):
    """There is no address to send to any more; a person must tell them in another way."""


def letter_for(row: Outbox) -> EmailMessage:
    """Return the mail that a row asks for; raise NobodyToTell where there is no address."""
    if row.kind == Outbox.Kind.NOTICE and _is_of_another_day(row):
        raise NobodyToTell(_("The visit was moved to another day, of which a new notice tells."))
    return WRITERS[Outbox.Kind(row.kind)](**row.arguments)


def _is_of_another_day(row: Outbox) -> bool:
    """Say whether the visit was moved since the notice was written down."""
    parts = row.dedupe_key.split(":")
    if parts[0] != "notice" or len(parts) < 3:
        return False
    planned = Visit.objects.filter(pk=row.arguments.get("visit")).values_list("planned", flat=True)
    return any(day.isoformat() != parts[2] for day in planned)


def client_summary(visit: int) -> EmailMessage:
    """Return the letter that tells a client what was done, with the summary as a PDF."""
    made = _visit(visit)
    client = made.course.property.client
    _refuse_stopped(client)
    with translation.override(client.language):
        letter = _letter(
            to=client.mailbox(),
            subject=_("What was done at %(property)s on %(day)s"),
            body=_summary_text() + _stop_text(),
            facts={
                **_facts(made, made.made_at().astimezone(made.course.property.zone()).date()),
                "stop": stop_address(client),
            },
        )
        # Drawing stands above the actions, so it is reached only when a letter needs it.
        pdf = import_module("services.printing").summary_pdf(made)
    letter.attach("summary.pdf", pdf, "application/pdf")
    return may_be_stopped(letter, client)


def record_copy(record: int, client: int) -> EmailMessage:
    """Return the letter that brings a client the copy of a record, with all that amends it."""
    kept = ApplicationRecord.objects.filter(disposed__isnull=True, pk=record).first()
    reader = Client.objects.filter(pk=client).first()
    if kept is None or reader is None:
        raise NobodyToTell(_("The record or the client is not in the book any more."))
    with translation.override(reader.language):
        zone = ZoneInfo(kept.time_zone)
        facts = {
            "number": str(kept.number),
            "day": date_format(kept.done_at.astimezone(zone), "DATE_FORMAT"),
            "address": kept.site_address,
            "business": _name_of_business(),
            "phone": Business.of_this_book().phone,
        }
        letter = _letter(
            to=reader.email,
            subject=_("Your copy of record %(number)s, %(day)s"),
            body=_copy_text(),
            facts=facts,
        )
        pdf = import_module("services.printing").records_pdf(
            [kept], language=reader.language, now=timezone.now()
        )
    letter.attach(f"application-record-{kept.number}.pdf", pdf, "application/pdf")
    return letter


def notice(visit: int, client: int | None = None, neighbour: int | None = None) -> EmailMessage:
    """Return the letter that tells a client or a neighbour of a visit before it is made."""
    coming = _visit(visit)
    reader: Client | Neighbour | None
    if neighbour is not None:
        reader = Neighbour.objects.filter(pk=neighbour).first()
    else:
        reader = None if client is None else Client.objects.filter(pk=client).first()
    if reader is None:
        raise NobodyToTell(_("The person who was to be told is not in the book any more."))
    address = reader.mailbox() if isinstance(reader, Client) else reader.email
    if not address:
        raise NobodyToTell(NO_ADDRESS)
    told = [notice_in(language, coming) for language in languages_of(reader)]
    subject = " / ".join(each.subject for each in told)
    return EmailMessage(
        subject=" ".join(subject.split()),
        body="\n\n".join(each.text for each in told),
        to=[address],
    )


def estimate(estimate: int, client: int) -> EmailMessage:
    """Return the mail that brings a client an estimate, with a link by which it is answered."""
    told = Estimate.objects.select_related("property__client").get(pk=estimate)
    reader = told.property.client
    if told.withdrawn_at is not None or reader.pk != client:
        raise NobodyToTell(_("The estimate was withdrawn."))
    _refuse_stopped(reader)
    business = Business.of_this_book()
    # Only its digest is kept, so the link is made when the mail is written.
    link = settings.ADDRESS + reverse(
        "services:open_link", args=[make_link(reader, now=timezone.now())]
    )
    with translation.override(reader.language):
        letter = _letter(
            to=reader.mailbox(),
            subject=_("Estimate %(number)s for %(property)s"),
            body=_estimate_text() + _stop_text(),
            facts={
                "number": str(told.number),
                "property": told.property.name,
                "day": date_format(told.valid_until, "DATE_FORMAT"),
                "link": link,
                "stop": stop_address(reader),
                "business": business.name,
                "phone": business.phone,
            },
        )
    letter.attach(f"estimate-{told.number}.pdf", bytes(told.paper), "application/pdf")
    return may_be_stopped(letter, reader)


def crew_sheet(dispatch: int, technician: int) -> EmailMessage:
    """Return the mail that brings one of a crew the sheets of a day, without gate codes."""
    route = Dispatch.objects.select_related("crew__yard").filter(pk=dispatch).first()
    reader = Technician.objects.select_related("user").filter(pk=technician).first()
    if route is None or reader is None:
        raise NobodyToTell(_("The route was recalled, or the person has left."))
    with translation.override(reader.language):
        facts = {"crew": route.crew.name, "day": date_format(route.day, "DATE_FORMAT")}
        letter = _letter(
            to=reader.user.email,
            subject=_("Visit sheets of %(crew)s for %(day)s"),
            body=_("The sheets of %(crew)s for %(day)s. Gate codes are shown on the day only.\n"),
            facts=facts,
        )
        pdf = import_module("services.printing").visit_sheets_pdf(
            [route], language=reader.language, now=route.made_at, with_gate_codes=False
        )
    letter.attach("sheets.pdf", pdf, "application/pdf")
    return letter


def checkpoint(checkpoint: int, address: str) -> EmailMessage:
    """Return the mail that gives an owner a checkpoint of the journal to keep."""
    kept = Checkpoint.objects.get(pk=checkpoint)
    letter = _letter(
        to=address,
        subject=_("Checkpoint of the journal after %(size)s entries"),
        body=_checkpoint_text(),
        facts={"size": str(kept.size), "text": kept.text, "business": _name_of_business()},
    )
    letter.attach(f"checkpoint-{kept.size}.txt", kept.text, "text/plain")
    return letter


def day_answer(asked: int, client: int) -> EmailMessage:
    """Return the letter that tells a client what became of the day that he or she asked for."""
    answered, reader = DayAsked.objects.get(pk=asked), Client.objects.get(pk=client)
    visit = _visit(answered.visit_id)
    is_moved = answered.answer == DayAsked.Answer.MOVED
    with translation.override(reader.language):
        return _letter(
            to=reader.mailbox(),
            subject=_("Our visit at %(property)s"),
            body=_moved_text() if is_moved else _kept_text(),
            facts={**_facts(visit, visit.planned), "reply": answered.reply},
        )


def digest(owner: int) -> EmailMessage:
    """Return the mail that tells an owner what is late, due, lapsing or short this morning."""
    reader = get_user_model().objects.filter(pk=owner, is_active=True).first()
    if reader is None:
        raise NobodyToTell(_("The person who was to be told is not in the book any more."))
    now = timezone.now()
    with translation.override(_language_of(reader)):
        told = import_module("services.showing.digest").digest_of(reader, now)
        return _letter(
            to=reader.email,
            subject=_("What is to be done, %(day)s"),
            body="%(told)s\n\n%(business)s\n",
            facts={
                "day": date_format(told.day, "DATE_FORMAT"),
                "told": told.text(),
                "business": _name_of_business(),
            },
        )


def _language_of(user: User) -> str:
    technician = Technician.objects.filter(user=user).first()
    return technician.language if technician else "en"


WRITERS: dict[Outbox.Kind, Callable[..., EmailMessage]] = {
    Outbox.Kind.CLIENT_SUMMARY: client_summary,
    Outbox.Kind.CREW_SHEET: crew_sheet,
    Outbox.Kind.NOTICE: notice,
    Outbox.Kind.ESTIMATE: estimate,
    Outbox.Kind.CHECKPOINT: checkpoint,
    Outbox.Kind.DIGEST: digest,
    Outbox.Kind.RECORD_COPY: record_copy,
    Outbox.Kind.DAY_ANSWER: day_answer,
}


def _summary_text() -> str:
    """Return what the letter with the summary says."""
    return _(
        "On %(day)s we were at %(address)s. The sheet with this letter says what was done, what "
        "to keep away from and until when, and what comes next.\n\n%(business)s\n%(phone)s\n"
    )


def _refuse_stopped(client: Client) -> None:
    """Raise NobodyToTell where a client has stopped letters since this one was written down."""
    if client.letters_stopped_on:
        raise NobodyToTell(LETTERS_STOPPED)


def _stop_text() -> str:
    """Return how such letters are stopped, as their last line."""
    return _("\nTo have no more letters like this: %(stop)s\n")


def _moved_text() -> str:
    """Return what is answered where the visit was moved."""
    return _(
        "You asked us for another day at %(address)s. The visit is now planned for %(day)s, if "
        "the weather allows.\n\n%(business)s\n%(phone)s\n"
    )


def _kept_text() -> str:
    """Return what is answered where the day stays."""
    return _(
        "You asked us for another day at %(address)s. The visit stays planned for %(day)s.\n\n"
        "%(reply)s\n\n%(business)s\n%(phone)s\n"
    )


def _estimate_text() -> str:
    """Return what the letter with an estimate says."""
    return _(
        "With this letter comes what we propose for %(property)s, and its price. It is valid until "
        "%(day)s. You accept or decline it on your own page:\n\n%(link)s\n\n"
        "%(business)s\n%(phone)s\n"
    )


def _copy_text() -> str:
    """Return what the letter with the copy of a record says."""
    return _(
        "With this letter comes your copy of the record of what was applied on %(day)s at "
        "%(address)s. Keep it.\n\n%(business)s\n%(phone)s\n"
    )


def _checkpoint_text() -> str:
    """Return what the mail with a checkpoint says."""
    return _(
        "Keep this mail. It vouches for the first %(size)s entries in the journal of records of "
        "%(business)s: whoever changes one of them later cannot make it fit again.\n\n"
        "%(text)s\n"
        "To check: save the attached file and run  manage.py verify --checkpoint FILE\n"
    )


def _name_of_business() -> str:
    return Business.of_this_book().name


def _visit(visit_id: int) -> Visit:
    return Visit.objects.with_all_that_is_shown().get(pk=visit_id)


def _letter(*, to: str, subject: str, body: str, facts: dict[str, str]) -> EmailMessage:
    if not to:
        raise NobodyToTell(NO_ADDRESS)
    return EmailMessage(subject=" ".join((subject % facts).split()), body=body % facts, to=[to])


def _facts(visit: Visit, day) -> dict[str, str]:
    business, place = Business.of_this_book(), visit.course.property
    return {
        "property": place.name,
        "address": place.address(),
        "day": date_format(day, "DATE_FORMAT"),
        "business": business.name,
        "phone": business.phone,
    }
