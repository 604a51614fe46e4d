"""Records are signed by who holds a certificate: one on its page, or those that wait at once."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from clients.access import CERTIFIED, allow
from treatments.models import ApplicationRecord
from treatments.signing_off import sign_records

MOST_AT_ONCE = 100
LONGEST_NUMBER = 18  # digits; more than any database counts


@require_POST
@allow(CERTIFIED)
def sign(request):
    """Keep that a person signed the records that are named."""
    named = request.POST.getlist("number")[:MOST_AT_ONCE]
    numbers = [each for each in named if each.isdecimal() and len(each) <= LONGEST_NUMBER]
    kept = ApplicationRecord.objects.for_user(request.user)
    records = list(kept.filter(number__in=numbers).order_by("number"))
    try:
        count = sign_records(records, by=request.user, at=timezone.now())
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, _said(count))
    if len(records) == 1:
        return redirect("treatments:record", records[0].number)
    return redirect("treatments:records_due")


def _said(count: int) -> str:
    if not count:
        return _("Nothing new was signed.")
    words = ngettext("%(count)s record is signed.", "%(count)s records are signed.", count)
    return words % {"count": count}
