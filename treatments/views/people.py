"""Pages of applicators and certificates, sprayers and calibrations, and of the business."""

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.db.models import F
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import OFFICE, STAFF, Role, allow, has_role
from clients.lying import jurisdiction_of
from clients.views import entry
from treatments.clocks import home_day
from treatments.forms.people import (
    ApplicatorForm,
    BusinessForm,
    CertificateForm,
    SprayerForm,
)
from treatments.lapsing import fit_test_in_words
from treatments.licensing import certificate_changed, licence_changed
from treatments.models import Applicator, Business, Certificate, Sprayer
from treatments.rules.respirators import describe_approval


@require_safe
@allow(STAFF)
def applicator(request, applicator_id):
    """Show an applicator with the certificates."""
    found = Applicator.objects.select_related("supervisor").prefetch_related("certificates")
    applicator = get_object_or_404(found, pk=applicator_id)
    today = home_day()
    tests = applicator.fit_tests.all()
    context = {
        "applicator": applicator,
        "tests": [
            (test, *fit_test_in_words(test, today), describe_approval(test.respirator))
            for test in tests
        ],
        "issued": applicator.protection.order_by(F("returned_on").desc(nulls_first=True)),
        "today": today,
        "may_enter": has_role(request.user, OFFICE),
        "may_remove": has_role(request.user, frozenset({Role.OWNER})),
    }
    return render(request, "treatments/applicator.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_applicator(request, applicator_id=None):
    """Enter or change a person who applies."""
    applicator = get_object_or_404(Applicator, pk=applicator_id) if applicator_id else None
    form = ApplicatorForm(request.POST or None, instance=applicator, initial=_begun(request))
    if form.is_valid():
        holder = form.save()
        licence_changed(holder, by=request.user)
        return redirect("treatments:applicator", holder.pk)
    return entry(request, form, "treatments/edit_applicator.html", given=applicator)


def _begun(request):
    """Return who the first to apply most likely is: whoever enters it."""
    if Applicator.objects.exists():
        return None
    return {"name": request.user.get_full_name(), "user": request.user.pk}


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_certificate(request, applicator_id, certificate_id=None):
    """Enter or change a certificate of an applicator."""
    applicator = get_object_or_404(Applicator, pk=applicator_id)
    certificate = Certificate(
        applicator=applicator, jurisdiction=jurisdiction_of(Business.of_this_book().region)
    )
    if certificate_id:
        certificate = get_object_or_404(applicator.certificates, pk=certificate_id)
    form = CertificateForm(request.POST or None, instance=certificate)
    if form.is_valid():
        with transaction.atomic():
            certificate_changed(form.save(), by=request.user, at=timezone.now())
        return redirect("treatments:applicator", applicator_id)
    return entry(request, form, "treatments/edit_certificate.html", applicator=applicator)


@require_safe
@allow(STAFF)
def sprayers(request):
    """Show the sprayers, each with its newest calibrations."""
    found = Sprayer.objects.prefetch_related("calibrations__person")
    return render(request, "treatments/sprayers.html", {"sprayers": found})


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def edit_sprayer(request, sprayer_id=None):
    """Enter or change a sprayer."""
    sprayer = get_object_or_404(Sprayer, pk=sprayer_id) if sprayer_id else None
    form = SprayerForm(request.POST or None, instance=sprayer)
    if form.is_valid():
        form.save()
        return redirect("treatments:sprayers")
    return entry(request, form, "treatments/edit_sprayer.html", given=sprayer)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(frozenset({Role.OWNER}))
def business(request):
    """Enter or change the name, licence and address that stand on every paper."""
    form = BusinessForm(request.POST or None, instance=Business.of_this_book())
    if form.is_valid():
        form.save()
        messages.success(request, _("Every paper from now on says so."))
        return redirect(settings.LOGIN_REDIRECT_URL)
    return entry(request, form, "treatments/business.html")
