"""Time on jobs, by person and day of a week."""

from datetime import timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from clients.access import OFFICE, allow
from services.dispatching import today_at_yard
from services.sheets.spreadsheet import csv_lines
from services.showing.hours import hours_of_week

WEEK = timedelta(weeks=1)


@require_safe
@allow(OFFICE)
def hours(request, monday=None):
    """Show how long each person was at stops in a week."""
    today = today_at_yard()
    monday = monday or today - timedelta(days=today.weekday())
    shown = hours_of_week(monday)
    context = {"week": shown, "monday": monday, "before": monday - WEEK, "after": monday + WEEK}
    return render(request, "services/hours.html", context)


@require_safe
@allow(OFFICE)
def hours_csv(request, monday):
    """Hand out the minutes of a week, a person a line."""
    week = hours_of_week(monday)
    heads = [_("person"), *(day.isoformat() for day in week.days), _("in all (min)"), _("stops")]
    rows = (
        [str(each.technician), *(told for _day, told in minutes), each.total(), each.stops]
        for each, minutes in week.rows()
    )
    answer = HttpResponse("".join(csv_lines(heads, rows)), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="hours-{monday.isoformat()}.csv"'
    return answer
