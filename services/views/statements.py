"""A client's account: statements looked at and given out, payments, corrections."""

from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, allow
from clients.models import Client
from clients.views import entry
from services.dispatching import today_at_yard
from services.forms.earnings import PeriodForm
from services.forms.statements import CorrectionForm, GiveOutForm, PaymentForm
from services.models import ChargeCorrection, Payment, Statement
from services.models.statements import balance_of
from services.printing.statements import statement_pdf, statements_csv
from services.statements import (
    correct_charge,
    draft_for,
    give_out,
    note_payment,
    take_back_payment,
)
from services.views.paper import pdf, wanted_language

ROWS = 50


@require_safe
@allow(OFFICE)
def account(request, client_id):
    """Show what a client was charged and paid, and what is owed."""
    client = client_for(request, client_id)
    first, last = month_before(today_at_yard())
    paid = Payment.objects.for_user(request.user).filter(client=client)
    waiting = ChargeCorrection.objects.for_user(request.user).filter(
        client=client, statement_line__isnull=True
    )
    statements = Statement.objects.for_user(request.user).filter(client=client)
    shown = {
        "client": client,
        "balance": balance_of(client),
        "page": Paginator(statements, ROWS).get_page(request.GET.get("page")),
        "payments": paid.select_related("taken_back_by").order_by("-day", "-pk")[:ROWS],
        "waiting": waiting.select_related("property"),
        "period": PeriodForm(initial={"first": first, "last": last}),
    }
    return render(request, "services/account.html", shown)


@require_safe
@allow(OFFICE)
def draft(request, client_id):
    """Show what a statement for a period would say; nothing is kept by looking."""
    client = client_for(request, client_id)
    form = PeriodForm(request.GET or None)
    if not form.is_valid():
        return entry(request, form, "services/statement_period.html", client=client)
    return shown_draft(request, client, form.cleaned_data)


def shown_draft(request, client, period, *, status=200):
    """Show a draft with the button that gives it out."""
    drafted = draft_for(client, period["first"], period["last"])
    giving = GiveOutForm(initial={"first": period["first"], "last": period["last"]})
    shown = {"client": client, "draft": drafted, "form": giving}
    return render(request, "services/statement_draft.html", shown, status=status)


@require_POST
@allow(OFFICE)
def give_statement(request, client_id):
    """Give out a statement; pressed twice it is given out once."""
    client, form = client_for(request, client_id), GiveOutForm(request.POST)
    if not form.is_valid():
        return entry(request, form, "services/statement_period.html", client=client)
    told = form.cleaned_data
    try:
        given = give_out(
            client,
            first_day=told["first"],
            last_day=told["last"],
            by=request.user,
            at=timezone.now(),
            form_id=told["form_id"],
        )
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
        return shown_draft(request, client, told, status=422)
    return redirect("services:statement", given.number)


@require_safe
@allow(OFFICE)
def statement(request, statement_number):
    """Show a statement as it was given out."""
    found = statement_for(request, statement_number)
    newest = Statement.objects.for_user(request.user).filter(client=found.client).first()
    shown = {"statement": found, "is_newest": newest == found, "lines": found.lines.all()}
    return render(request, "services/statement.html", shown)


@require_safe
@allow(OFFICE)
def statement_paper(request, statement_number):
    """Hand out the paper as it was given out, or drawn anew in the other language."""
    found = statement_for(request, statement_number)
    language = wanted_language(request, found.language)
    is_as_given = language == found.language
    paper = bytes(found.paper.pdf) if is_as_given else statement_pdf(found, language)
    return pdf(paper, f"statement-{found.number}")


@require_safe
@allow(OFFICE)
def statement_table(request, statement_number):
    """Hand out a statement as a table for the accountant."""
    found = statement_for(request, statement_number)
    return csv([found], f"statement-{found.number}.csv")


@require_safe
@allow(OFFICE)
def statements_table(request):
    """Hand out all statements that were given out in a period, as a table for the accountant."""
    form = PeriodForm(request.GET or None)
    if not form.is_valid():
        return entry(request, form, "services/statement_period.html", client=None)
    first, last = form.cleaned_data["first"], form.cleaned_data["last"]
    found = Statement.objects.for_user(request.user).order_by("number")
    given = found.filter(given_at__date__range=(first, last))
    given = given.prefetch_related("lines", "payments")
    return csv(given, f"statements-{first}-{last}.csv")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def new_payment(request, client_id):
    """Note a payment; the same form notes it once."""
    client = client_for(request, client_id)
    form = PaymentForm(request.POST or None, initial={"day": today_at_yard()})
    if form.is_valid() and form.hand_to(note_payment, client, by=request.user, at=timezone.now()):
        return redirect("services:account", client_id)
    return entry(request, form, "services/new_payment.html", client=client)


@require_POST
@allow(OFFICE)
def take_back(request, payment_id):
    """Take back a payment that was noted wrongly."""
    payments = Payment.objects.for_user(request.user).select_related("client")
    payment = get_object_or_404(payments, pk=payment_id)
    try:
        take_back_payment(payment, by=request.user, at=timezone.now())
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, _("The payment is taken back by a second row."))
    return redirect("services:account", payment.client_id)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def new_correction(request, client_id):
    """Keep a correction for the next statement; the same form keeps it once."""
    client = client_for(request, client_id)
    form = CorrectionForm(request.POST or None, client=client, initial={"day": today_at_yard()})
    if form.is_valid() and form.hand_to(correct_charge, client, by=request.user, at=timezone.now()):
        return redirect("services:account", client_id)
    return entry(request, form, "services/new_charge_correction.html", client=client)


def client_for(request, client_id):
    """Return a client that the person may see."""
    return get_object_or_404(Client.objects.for_user(request.user), pk=client_id)


def statement_for(request, statement_number):
    """Return a statement that the person may see."""
    found = Statement.objects.for_user(request.user).select_related("client", "paper")
    return get_object_or_404(found, number=statement_number)


def month_before(today):
    """Return the first and the last day of the month before the one of a day."""
    last = today.replace(day=1) - timedelta(days=1)
    return last.replace(day=1), last


def csv(statements, name):
    """Answer with a table that no cache keeps."""
    answer = HttpResponse("".join(statements_csv(statements)), content_type="text/csv")
    answer["Content-Disposition"] = content_disposition_header(True, name) or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer
