"""The records that need not be kept any longer, and their disposal, which only the owner orders."""

from itertools import islice

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.access import Role, allow
from treatments.disposing import KEPT_YEARS, Beside, dispose_of, past_their_time
from treatments.models import ApplicationRecord

MOST_SHOWN = 200


@require_http_methods(["GET", "HEAD", "POST"])
@allow(frozenset({Role.OWNER}))
def records_past(request):
    """Show what is past its time and what would go; dispose of those that were marked."""
    if request.method == "POST":
        return _disposed(request)
    today = timezone.now().date()
    rows = list(islice(past_their_time(today), MOST_SHOWN))
    others = Beside.count_past(today)
    context = {"rows": rows, "others": others, "years": KEPT_YEARS, "most": MOST_SHOWN}
    return render(request, "treatments/records_past.html", context)


def _disposed(request):
    numbers = [number for number in request.POST.getlist("record") if number.isdecimal()][
        :MOST_SHOWN
    ]
    records = ApplicationRecord.objects.filter(number__in=[int(number[:18]) for number in numbers])
    if not request.POST.get("sure"):
        messages.error(request, _("Confirm that it cannot be undone."))
        return redirect("treatments:records_past")
    now = timezone.now()
    others = Beside.dispose_of_past(request.user, now) if request.POST.get("others") else 0
    try:
        count = dispose_of(records, by=request.user, at=now)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        told = {"count": count, "others": others}
        messages.success(
            request, _("Disposed of: %(count)s records, %(others)s holds and notices.") % told
        )
    return redirect("treatments:records_past")
