"""Pages of application records: the register, one record, its amendments."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CERTIFIED, CREW, EVERYONE, READERS, STAFF, Role, allow, has_role
from clients.sorting import Order
from clients.stretches import Stretch
from clients.views import entry
from treatments.approval import amends_alone, may_ask, may_ask_to_void
from treatments.certified import is_certified
from treatments.forms.handing import CopiesForm
from treatments.forms.records import AmendForm, ReasonForm, SiftForm
from treatments.models import ApplicationRecord, Correction
from treatments.recording import clocks_of, history_of, with_unit
from treatments.recording.clocks import done_there, rules_of
from treatments.rulebook import confirmed_facts, keys_of
from treatments.rules.records import knows_of_copies
from treatments.views.corrections import corrections_of
from treatments.views.record_facts import (
    copy_standing_of,
    flags_said,
    groups_of_facts,
    missing_findings,
    moment,
    shown,
    standing_of,
)

OWNER = frozenset({Role.OWNER})
INSPECTOR = frozenset({Role.INSPECTOR})
RECORDS_BY = {
    "number": "number",
    "done": "done_at",
    "product": "product_name",
    "who": "applicator_name",
}


@require_safe
@allow(EVERYONE)
def records(request):
    """Show the register of records, as far as they fit what is looked for."""
    kept = ApplicationRecord.objects.for_user(request.user)
    form = SiftForm(request.GET or None, records=kept)
    if not is_ours(request.user):
        form.offer_only_what_is_there()
    found = form.found().select_related("planting__property").with_neighbours()
    order = Order(request.GET, RECORDS_BY, usual="-done")
    page = Stretch(found, request.GET, by=(order.column, "number"), falling=order.falling)
    now = timezone.now()
    rows = [(record, standing_of(record, now)) for record in page]
    context = {
        "form": form,
        "page": page,
        "order": order,
        "rows": rows,
        "is_sifted": form.is_asked(),
    }
    context |= {
        "is_owner": has_role(request.user, OWNER),
        "may_see_rules": has_role(request.user, STAFF),
        "may_pack": has_role(request.user, READERS),
    }
    return render(request, "treatments/records.html", context)


@require_safe
@allow(EVERYONE)
def record(request, number):
    """Show a record as a form filled in, with what amends it."""
    record = as_read_by(request.user, record_for(request.user, number))
    newer = getattr(record, "amended_by", None)
    confirmed, now = confirmed_facts(), timezone.now()
    clocks, rules = clocks_of(record, confirmed), rules_of(record, confirmed)
    context = {
        "record": record,
        "newer": newer,
        "groups": groups_of_facts(record),
        "findings": missing_findings(record),
        "flags": list(flags_said(record)),
        "rules": rules,
        "rules_changed": record.rules_checked_by not in ("", keys_of(rules)),
        "copy": copy_standing_of(record, confirmed, now),
        "knows_copies": knows_of_copies(record.jurisdiction, done_there(record).date(), rules),
        "may_see_rules": has_role(request.user, STAFF),
        "standing": standing_of(record, now),
        "due": clocks.due,
        "kept": clocks.kept,
        "revisions": revisions_of(record, with_notes=is_ours(request.user)),
        "corrections": corrections_of(record, request.user),
        **acts_on(record, newer, request.user),
        "copies_form": copies_form_of(record),
    }
    return render(request, "treatments/record.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CREW)
def amend(request, number):
    """Correct a record by a second one, or ask for that."""
    record = record_for(request.user, number)
    if not may_ask(request.user, record):
        raise PermissionDenied
    with timezone.override(ZoneInfo(record.time_zone)):
        form = AmendForm(request.POST or None, instance=record)
        if form.is_valid() and (done := form.correct(request.user, timezone.now())):
            return after_correcting(request, number, done)
        context = {
            "number": number,
            "zone": record.time_zone,
            "asks": not amends_alone(request.user, record),
        }
        return entry(request, form, "treatments/amend.html", **context)


def after_correcting(request, number, done):
    """Say what was kept or asked, and show it."""
    if isinstance(done, Correction):
        messages.success(request, _("It is asked for. The record stands until somebody agrees."))
        return redirect("treatments:record", number)
    messages.success(request, _("Record %(second)s stands in its place.") % {"second": done.number})
    return redirect("treatments:record", done.number)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CERTIFIED)
def void(request, number):
    """Ask that a record be declared void."""
    record = record_for(request.user, number)
    if not may_ask_to_void(request.user, record):
        raise PermissionDenied
    form = ReasonForm(request.POST or None)
    if form.is_valid() and (asked := form.ask_to_void(record, request.user, timezone.now())):
        return after_correcting(request, number, asked)
    return entry(request, form, "treatments/void.html", record=record)


def acts_on(record, newer, user):
    """Return what a person may do with a record that stands."""
    stands = not newer and not record.void
    return {
        "may_amend": stands and may_ask(user, record),
        "may_void": stands and may_ask_to_void(user, record),
        "may_note_copy": stands and not hasattr(record, "copy_given") and has_role(user, CREW),
        "may_mail_copy": stands
        and not hasattr(record, "copy_given")
        and has_role(user, STAFF)
        and bool(record.planting.property.client.email),
        "may_sign": stands and not hasattr(record, "signed") and is_certified(user),
    }


def copies_form_of(record):
    """Return the form that notes a copy, with today by the clock of the record's place."""
    zone = ZoneInfo(record.time_zone)
    return CopiesForm(initial={"given_on": timezone.localdate(timezone=zone)})


def record_for(user, number):
    """Return a record that a person may see, by its number."""
    kept = ApplicationRecord.objects.for_user(user).select_related(
        "planting__property__client", "amended_by", "recorded_by", "signed", "copy_given__given_by"
    )
    return get_object_or_404(kept, number=number)


def is_ours(user):
    """Say whether a person is of the business, who reads its notes; an inspector does not."""
    return not has_role(user, INSPECTOR)


def as_read_by(user, record):
    """Return a record as a person reads it; it is not kept so."""
    if not is_ours(user):
        record.note = ""
    return record


def revisions_of(record, *, with_notes=True):
    """Return the amendments in the record's row, with before and after as they are read."""
    return [
        {
            "record": each.record,
            "at": moment(each.record, each.record.received_at),
            "approved_at": each.record.approved_at and moment(each.record, each.record.approved_at),
            "changes": [
                (
                    change.name,
                    with_unit(record.amends or record, change.column, shown(record, change.before)),
                    with_unit(record, change.column, shown(record, change.after)),
                )
                for change in each.differences
                if with_notes or change.column != "note"
            ],
        }
        for each in history_of(record)[1:]
    ]
