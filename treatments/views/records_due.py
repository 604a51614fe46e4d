"""What is to be written, what was written late, whose copies are due, how long all is kept.

What a rule set does not say is "not known" here, never "no duty".
"""

from datetime import date, timedelta

from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from clients.access import CREW, EVERYONE, STAFF, Role, allow, has_role
from treatments.certified import is_certified
from treatments.clocks import home_zone
from treatments.forms.handing import CopiesForm
from treatments.models import ApplicationRecord
from treatments.owing import owed_reports
from treatments.recording.alike import AllSeen, PartSeen
from treatments.rulebook import confirmed_facts
from treatments.signing_off import answered_for_by, unsigned
from treatments.views.year_of_records import SHOWN, Year, due_first

# Our own choice: what is older stands in the register, with the same clocks.
LOOKED_AT = timedelta(days=365)
SIGNED_AT_ONCE = 25
MOST_COUNTED = 1_000  # of those that follow


@require_safe
@allow(EVERYONE)
def records_due(request):
    """Show what is still asked of the records of the past year."""
    now = timezone.now()
    kept = ApplicationRecord.objects.for_user(request.user).current()
    sees = AllSeen if has_role(request.user, STAFF) else PartSeen
    year = Year(sees(kept, now - LOOKED_AT), confirmed_facts(), now)
    context = {
        "owed": owed_reports(request.user, now),
        "unwritten": sorted(year.unwritten(), key=due_first),
        "late": year.late(),
        **copies_shown(year, request.user),
        "keepings": year.keepings(),
        "most": SHOWN,
        **waiting_for(request.user, kept),
        "may_dispose": has_role(request.user, frozenset({Role.OWNER})),
    }
    return render(request, "treatments/records_due.html", context)


def copies_shown(year: Year, user) -> dict:
    """Return the copies that are to be given, those that came late, and how many came in time."""
    to_give, late = year.copies_to_give(), year.copies_late()
    return {
        "copies": sorted(to_give, key=lambda row: row.copy.due_on() or date.max),
        "copies_late": late[:SHOWN],
        "copies_in_time": year.copies_given() - len(late),
        "copies_form": CopiesForm(initial={"given_on": year.now.astimezone(home_zone()).date()})
        if to_give and has_role(user, CREW)
        else None,
    }


def waiting_for(user, kept) -> dict:
    """Return the records that a person has to sign, the oldest first, and how many follow them."""
    if not is_certified(user):
        return {}
    mine = unsigned(answered_for_by(user, kept))
    rows = mine.order_by("done_at", "number").select_related("planting__property")
    shown = list(rows[:SIGNED_AT_ONCE])
    more = mine.order_by()[: len(shown) + MOST_COUNTED + 1].count() - len(shown)
    return {
        "unsigned": shown,
        "unsigned_more": max(0, min(more, MOST_COUNTED)),
        "unsigned_beyond": more > MOST_COUNTED,
    }
