"""Pages of application records: the register, one record, its amendments."""

from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import EVERYONE, READERS, STAFF, Role, allow, has_role
from clients.views import entry
from treatments.approval import needs_approval
from treatments.forms.records import AmendForm, ReasonForm, SiftForm
from treatments.models import ApplicationRecord
from treatments.recording import clocks_of, history_of
from treatments.views.record_facts import (
    flags_said,
    groups_of_facts,
    missing_findings,
    moment,
    rules_of,
    shown,
    standing_of,
)

ROWS = 50
OWNER = frozenset({Role.OWNER})
INSPECTOR = frozenset({Role.INSPECTOR})


@require_safe
@allow(EVERYONE)
def records(request):
    """Show the register of records, as far as they fit what is looked for."""
    kept = ApplicationRecord.objects.for_user(request.user)
    form = SiftForm(request.GET or None, records=kept)
    if not is_ours(request.user):
        form.offer_only_what_is_there()
    found = form.found().select_related("planting__property", "amended_by", "amends")
    page = Paginator(found, ROWS).get_page(request.GET.get("page"))
    now = timezone.now()
    rows = [(record, standing_of(record, now)) for record in page]
    context = {"form": form, "page": page, "rows": rows, "is_sifted": any(request.GET.values())}
    context |= {
        "is_owner": has_role(request.user, OWNER),
        "is_staff": has_role(request.user, STAFF),
        "may_pack": has_role(request.user, READERS),
    }
    return render(request, "treatments/records.html", context)


@require_safe
@allow(EVERYONE)
def record(request, number):
    """Show a record as a form filled in, with what amends it."""
    record = as_read_by(request.user, record_for(request.user, number))
    newer = getattr(record, "amended_by", None)
    clocks = clocks_of(record)
    context = {
        "record": record,
        "newer": newer,
        "groups": groups_of_facts(record),
        "findings": missing_findings(record),
        "flags": list(flags_said(record)),
        "rules": rules_of(record),
        "standing": standing_of(record, timezone.now()),
        "due": clocks.due,
        "kept": clocks.kept,
        "revisions": revisions_of(record, with_notes=is_ours(request.user)),
        "may_amend": has_role(request.user, STAFF) and not newer and not record.void,
        "may_void": has_role(request.user, OWNER) and not newer and not record.void,
    }
    return render(request, "treatments/record.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def amend(request, number):
    """Correct a record by a second one."""
    record = record_for(request.user, number)
    asks = needs_approval(request.user)
    with timezone.override(ZoneInfo(record.time_zone)):
        form = AmendForm(request.POST or None, instance=record, needs_approval=asks)
        if form.is_valid() and (second := form.amend(request.user)):
            done = _("Record %(second)s stands in its place.") % {"second": second.number}
            messages.success(request, done)
            return redirect("treatments:record", second.number)
        return entry(request, form, "treatments/amend.html", number=number, zone=record.time_zone)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def void(request, number):
    """Declare that a record does not stand."""
    record = record_for(request.user, number)
    form = ReasonForm(request.POST or None)
    if form.is_valid() and (second := form.void(record, request.user)):
        messages.success(request, _("Record %(number)s is void.") % {"number": number})
        return redirect("treatments:record", second.number)
    return entry(request, form, "treatments/void.html", record=record)


def record_for(user, number):
    """Return a record that a person may see, by its number."""
    kept = ApplicationRecord.objects.for_user(user).select_related(
        "planting__property", "amended_by", "recorded_by"
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
            "changes": [
                (change.name, shown(record, change.before), shown(record, change.after))
                for change in each.differences
                if with_notes or change.column != "note"
            ],
        }
        for each in history_of(record)[1:]
    ]
