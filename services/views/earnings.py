"""What visits cost and earn, by visit, course or client; for owner and office alone."""

from django.core.paginator import Paginator
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from clients.access import OFFICE, allow
from services.dispatching import today_at_yard
from services.figures import figures_of, made_between
from services.forms.earnings import COLUMNS, EarningsForm, asked_of
from services.showing.earnings import earning_rows, earnings_of_all, in_order

ROWS = 50
MOST_VISITS = 5_000  # our own choice: beyond it the answer takes too long


@require_safe
@allow(OFFICE)
def earnings(request):
    """Show what the visits of a period cost and earned."""
    asked = asked_of(request.GET, today_at_yard())
    form = EarningsForm(asked)
    if not form.is_valid():
        return render(request, "services/earnings.html", {"form": form}, status=422)
    told = form.cleaned_data
    visits = made_between(told["first"], told["last"]).order_by("completed_at", "pk")
    if visits.count() > MOST_VISITS:
        form.add_error("first", _("These are too many visits for one page: choose fewer days."))
        return render(request, "services/earnings.html", {"form": form}, status=422)
    figures = figures_of(visits, told["first"], told["last"])
    rows = in_order(earning_rows(figures, told["by"]), told["sort"] or "-day")
    shown = {
        "form": form,
        "by": told["by"],
        "columns": list(columns(told["sort"] or "-day")),
        "page": Paginator(rows, ROWS).get_page(request.GET.get("page")),
        "all": earnings_of_all(figures),
    }
    return render(request, "services/earnings.html", shown)


def columns(sort):
    """Yield the heads of the table: name, words, what a press sorts by, how it is sorted now."""
    for name, words in COLUMNS:
        is_up, is_down = sort == name, sort == f"-{name}"
        order = "ascending" if is_up else "descending" if is_down else "none"
        yield name, words, f"-{name}" if is_up or (name != "name" and not is_down) else name, order
