"""Protective equipment handed out to a person, and fit tests of the person's respirators."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.access import OFFICE, allow
from clients.views import entry
from treatments.forms.protection import FitTestForm, ProtectionForm
from treatments.models import Applicator, FitTest, ProtectionIssued


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_protection(request, applicator_id, issued_id=None):
    """Note what was handed out to a person, or that it came back."""
    applicator = get_object_or_404(Applicator, pk=applicator_id)
    given = get_object_or_404(applicator.protection, pk=issued_id) if issued_id else None
    row = given or ProtectionIssued(applicator=applicator, entered_by=request.user)
    return _edit(request, ProtectionForm, row, "treatments/edit_protection.html", given)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_fit_test(request, applicator_id, test_id=None):
    """Note a fit test, or correct what was noted."""
    applicator = get_object_or_404(Applicator, pk=applicator_id)
    given = get_object_or_404(applicator.fit_tests, pk=test_id) if test_id else None
    row = given or FitTest(applicator=applicator, entered_by=request.user)
    return _edit(request, FitTestForm, row, "treatments/edit_fit_test.html", given)


def _edit(request, form_class, row, template, given):
    form = form_class(request.POST or None, instance=row)
    if form.is_valid():
        form.save()
        messages.success(request, _("It is noted."))
        return redirect("treatments:applicator", row.applicator_id)
    return entry(request, form, template, applicator=row.applicator, given=given)
