"""Pages of tests with water on a planting."""

from django.contrib import messages
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.access import CREW, STAFF, allow, has_role
from clients.views import entry
from treatments.forms.water_tests import WaterTestForm
from treatments.views.scouting import planting_for
from treatments.water_testing import findings_on_test, latest_test, spray_by_test


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CREW)
def water_tests(request, planting_id):
    """Show what a planting took of water, and take in a new test; the newest one counts."""
    planting = planting_for(request.user, planting_id)
    form = WaterTestForm(request.POST or None, planting=planting)
    if form.is_valid() and form.enter(request.user):
        messages.success(request, _("The next mix for this planting goes by this test."))
        return redirect("treatments:water_tests", planting_id)
    tests = list(planting.water_tests.select_related("sprayer", "tested_by"))
    newest = latest_test(planting)
    context = {
        "planting": planting,
        "rows": [(test, spray_by_test(test, planting)) for test in tests],
        "findings": findings_on_test(newest, planting) if newest else [],
        "may_see_property": has_role(request.user, STAFF),
    }
    return entry(request, form, "treatments/water_tests.html", **context)
