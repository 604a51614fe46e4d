"""Notices before visits: what is due, who was tried, the letters, and the mails."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from services import dispatching, printing, telling
from services.forms.notices import ContactForm
from services.models import Visit
from services.showing.notices import notices_ahead, notices_of
from services.views.paper import pdf, wanted_language


@require_safe
@allow(STAFF)
def notices_due(request):
    """Show of which visits somebody is still to be told, and until when."""
    rows = notices_ahead(Visit.objects.for_user(request.user), dispatching.today_at_yard())
    context = {
        "due": [row for row in rows if not row.is_done()],
        "done": [row for row in rows if row.is_done()],
    }
    return render(request, "services/notices.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def visit_notices(request, visit_id):
    """Show who is to be told of a visit, and keep that somebody was tried."""
    visit = visit_for(request.user, visit_id)
    with timezone.override(visit.course.property.zone()):
        form = ContactForm(request.POST or None, visit=visit)
        if form.is_valid() and form.keep(request.user):
            messages.success(request, _("The attempt is written down."))
            return redirect("services:visit_notices", visit_id)
        (shown,) = notices_of([visit], dispatching.today_at_yard())
        context = {
            "form": form,
            "shown": shown,
            "attempts": visit.contact_attempts.select_related("made_by"),
            "is_office": has_role(request.user, OFFICE),
        }
        status = 422 if form.errors else 200
        return render(request, "services/visit_notices.html", context, status=status)


@require_POST
@allow(OFFICE)
def send_visit_notices(request, visit_id):
    """Let the mails of a visit go out, each as early as the rules allow."""
    rows = telling.queue_notices(visit_for(request.user, visit_id), now=timezone.now())
    words = ngettext(
        "%(count)s notice goes out, as early as the rules allow.",
        "%(count)s notices go out, each as early as the rules allow.",
        len(rows),
    )
    messages.success(request, words % {"count": len(rows)})
    return redirect("services:visit_notices", visit_id)


@require_safe
@allow(STAFF)
def notice_letters(request, visit_id):
    """Print the letters to all who are to be told of a visit."""
    visit, language = visit_for(request.user, visit_id), wanted_language(request, get_language())
    try:
        paper = printing.notices_pdf(visit, language=language, now=timezone.now())
    except LookupError as nobody:
        raise Http404 from nobody
    return pdf(paper, f"notices-{visit.planned}-{visit.pk}")


def visit_for(user, visit_id):
    """Return a visit that a person may see, with all who are to be told of it."""
    visits = Visit.objects.for_user(user).with_all_that_is_shown()
    return get_object_or_404(visits.prefetch_related("course__property__neighbours"), pk=visit_id)
