"""Corrections that wait for somebody's approval: listed, agreed to, declined."""

from dataclasses import dataclass

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clients.access import CERTIFIED, STAFF, allow
from treatments.approval import may_answer
from treatments.correcting import agree, changes_of, decline
from treatments.forms.records import DeclineForm
from treatments.models import ApplicationRecord, Correction
from treatments.views.record_facts import moment, shown


@dataclass(frozen=True, slots=True)
class Asked:
    """A correction as it is read: what it changes, and whether the reader may answer it."""

    correction: Correction
    at: str
    changes: list[tuple[str, str, str]]
    may_answer: bool
    decline: DeclineForm


@require_safe
@allow(STAFF)
def corrections(request):
    """List the corrections that nobody has answered yet."""
    waiting = Correction.objects.waiting().select_related("record", "asked_by")
    context = {"asked": [asked(each, request.user) for each in waiting]}
    return render(request, "treatments/corrections.html", context)


@require_POST
@allow(CERTIFIED)
def agree_to(request, correction_id):
    """Agree to a correction, and show the record that stands now."""
    correction = correction_or_404(correction_id)
    try:
        kept = agree(correction, by=request.user, at=timezone.now())
    except ValidationError as refused:
        return refused_answer(request, correction, refused)
    messages.success(request, _("Record %(second)s stands in its place.") % {"second": kept.number})
    return redirect("treatments:record", kept.number)


@require_POST
@allow(CERTIFIED)
def decline_it(request, correction_id):
    """Decline a correction; the record stands as it is."""
    correction = correction_or_404(correction_id)
    form = DeclineForm(request.POST)
    note = form.cleaned_data["note"] if form.is_valid() else ""
    try:
        decline(correction, by=request.user, at=timezone.now(), note=note)
    except ValidationError as refused:
        return refused_answer(request, correction, refused)
    messages.success(request, _("Declined. The record stands as it is."))
    return redirect("treatments:record", correction.record.number)


def refused_answer(request, correction, refused):
    """Say why an answer is refused, and show the record."""
    for sentence in refused.messages:
        messages.error(request, sentence)
    return redirect("treatments:record", correction.record.number)


def correction_or_404(correction_id):
    """Return a correction by its id."""
    found = Correction.objects.select_related("record", "asked_by")
    return get_object_or_404(found, pk=correction_id)


def corrections_of(record, user):
    """Return the corrections of a record that wait for an answer."""
    waiting = record.corrections.waiting().select_related("asked_by", "record")
    return [asked(each, user) for each in waiting]


def asked(correction, user) -> Asked:
    """Return a correction as a person reads it."""
    record = correction.record
    return Asked(
        correction=correction,
        at=moment(record, correction.asked_at),
        changes=[
            (name_of(column), shown(record, getattr(record, column)), shown(record, value))
            for column, value in changes_of(correction).items()
        ],
        may_answer=may_answer(user, correction),
        decline=DeclineForm(),
    )


def name_of(column: str) -> str:
    """Return what a column of the record is called."""
    return str(getattr(ApplicationRecord._meta.get_field(column), "verbose_name", column))
