"""The client's page behind a link: when it is safe, what was done, what comes.

A link is exchanged for a short signed cookie at once, so that it stands in no address that is
passed on.  No link changes anything, for scanners of mail follow every one; a client's wishes are
sent as a form.
"""

import logging
from datetime import timedelta
from functools import wraps

from django.conf import settings
from django.contrib import messages
from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.keeping import keep
from clients.models import Planting
from services.asking import ask_for_day
from services.charting import draw_season
from services.dispatching import today_at_yard
from services.forms.wishes import DayAskedForm, WishesForm
from services.models import ClientLink, Statement, Visit
from services.printing.summaries import season_of_client
from services.project.errors import tell
from services.project.proxies import sender_of
from services.showing.letter import letter_to
from services.telling import LinkEnded, LinkUnknown, client_of
from services.views.day import svg
from services.views.paper import pdf, summary_paper
from treatments.models import Business, Pest

logger = logging.getLogger(__name__)

COOKIE = "__Host-client" if settings.HTTPS else "client"
SALT = "client's page"
OPEN_FOR = timedelta(minutes=30)
MOST_TRIES = 30  # a minute and address
HEADERS = {
    # To no other site; without any the browser would send forms from nowhere, which are refused.
    "Referrer-Policy": "same-origin",
    "Cache-Control": "private, no-store",
    "X-Robots-Tag": "noindex, nofollow",
}


def unseen(view):
    """Keep an answer out of caches, search engines and the referrers of other sites."""

    @wraps(view)
    def guarded(request, *args, **kwargs):
        if not may_try(request):
            answer = too_many(request)
        else:
            answer = view(request, *args, **kwargs)
        for name, value in HEADERS.items():
            answer.setdefault(name, value)
        return answer

    return guarded


def may_try(request):
    """Count the requests of an address in this minute, and say whether there are not too many."""
    key = f"client-page-{sender_of(request)}-{timezone.now():%H%M}"
    cache.add(key, 0, 120)
    return cache.incr(key) <= MOST_TRIES


def too_many(request):
    """Answer somebody who asks more often than a person does."""
    answer = tell(request, 429, _("That was too often."), _("Wait a minute, then try again."))
    answer["Retry-After"] = "60"
    return answer


def for_client(view):
    """Hand a page the client whose link was opened a short while ago, in the client's language."""

    @unseen
    @wraps(view)
    def guarded(request, *args, **kwargs):
        link = link_opened(request)
        if link is None:
            sentence = _("This page is open for half an hour after you follow your link.")
            return tell(request, 404, sentence, _("Follow the link in your letter again."))
        if not link.is_open_at(timezone.now()):
            return ended(request)
        with translation.override(link.client.language):
            return view(request, link.client, *args, **kwargs)

    return guarded


def link_opened(request):
    """Return the link that the cookie of this browser stands for, or None."""
    number = request.get_signed_cookie(COOKIE, default=None, salt=SALT, max_age=OPEN_FOR)
    if number is None:
        return None
    return ClientLink.objects.select_related("client").filter(pk=number).first()


def ended(request):
    """Answer for a link that has run out, with nothing but whom to ask."""
    business = Business.of_this_book()
    sentence = _("This link has ended. Ask %(business)s for another: %(phone)s.") % {
        "business": business.name,
        "phone": business.phone or "–",
    }
    return render(request, "services/link_ended.html", {"sentence": sentence}, status=410)


@require_safe
@unseen
def open_link(request, token):
    """Exchange a link for a cookie, and go on to an address without the token."""
    now = timezone.now()
    try:
        client_of(token, now)
    except LinkUnknown as unknown:
        raise Http404 from unknown
    except LinkEnded:
        return ended(request)
    link = ClientLink.objects.get(digest=ClientLink.digest_of(token))
    answer = redirect("services:client_page")
    answer["Referrer-Policy"] = "no-referrer"  # this address alone holds the token
    answer.set_signed_cookie(
        COOKIE,
        str(link.pk),
        salt=SALT,
        max_age=OPEN_FOR,
        path="/",
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )
    return answer


@require_safe
@for_client
def client_page(request, client):
    """Show a client, like a letter, what was done and what comes."""
    return shown(request, client, WishesForm(instance=client))


def shown(request, client, wishes):
    """Show the letter with the form of a client's wishes."""
    context = {"client": client, "letter": letter_to(client, timezone.now()), "wishes": wishes}
    return render(
        request, "services/client_page.html", context, status=422 if wishes.errors else 200
    )


@require_POST
@for_client
def client_wishes(request, client):
    """Keep in which language a client reads, and whether to be told before each visit."""
    form = WishesForm(request.POST, instance=client)
    if not form.is_valid():
        return shown(request, client, form)
    form.stop_or_begin(today_at_yard())
    keep(client, version=client.version)
    logger.info("wishes of a client changed", extra={"client": client.pk})
    with translation.override(client.language):
        messages.success(request, _("It is kept; from now on you are written to like this."))
    return redirect("services:client_page")


@require_http_methods(["GET", "HEAD", "POST"])
@for_client
def ask_day(request, client, visit_id):
    """Let a client ask for another day of a visit that comes."""
    visits = Visit.objects.filter(course__property__client=client, state=Visit.State.NEEDS_ACTION)
    visit = get_object_or_404(visits.select_related("course__property"), pk=visit_id)
    today = timezone.now().astimezone(visit.course.property.zone()).date()
    typed = request.POST if request.method == "POST" else None
    form = DayAskedForm(typed, visit=visit, today=today)
    if form.is_valid() and _asked(form, visit):
        messages.success(request, _("We have it, and answer you before the day."))
        return redirect("services:client_page")
    status = 422 if form.errors else 200
    context = {"client": client, "visit": visit, "form": form}
    return render(request, "services/ask_day.html", context, status=status)


def _asked(form, visit):
    try:
        ask_for_day(visit, at=timezone.now(), **form.cleaned_data)
    except ValidationError as refusal:
        form.add_error(None, refusal)
        return False
    return True


@require_safe
@for_client
def client_summary(request, client, visit_id):
    """Hand a client the summary of a visit as a PDF."""
    visits = Visit.objects.filter(
        course__property__client=client, state=Visit.State.COMPLETED
    ).with_all_that_is_shown()
    return summary_paper(get_object_or_404(visits, pk=visit_id))


@require_safe
@for_client
def client_statement(request, client, statement_number):
    """Hand a client the paper of a statement as it was given out."""
    statement = get_object_or_404(Statement, client=client, number=statement_number)
    return pdf(bytes(statement.paper.pdf), f"statement-{statement.number}")


@require_safe
@for_client
def client_season(request, client, planting_id, pest_id):
    """Draw the counts of a client's planting by themselves."""
    plantings = Planting.objects.filter(property__client=client).select_related("property")
    planting = get_object_or_404(plantings, pk=planting_id)
    season = season_of_client(planting, get_object_or_404(Pest, pk=pest_id), timezone.now())
    if season is None:
        raise Http404
    return svg(draw_season(season))
