"""Files that somebody brings: files to fill in, the look, the confirming, the undoing."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, allow, role_of
from services import bringing
from services.bringing import KINDS
from services.forms.bringing import WORDS, BringForm
from services.models import Bringing

ROWS = 100
LAST_FILES = 20
TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def bring(request):
    """Show what may be brought with the files to fill in, and take a file."""
    role = role_of(request.user)
    form = BringForm(request.POST or None, request.FILES or None, role=role)
    if form.is_valid() and (row := _asked(request, form)):
        return redirect("services:bringing", row.pk)
    kinds = [kind for kind in KINDS.values() if role in kind.roles]
    files = Bringing.objects.defer("content").select_related("asked_by")
    files = files.filter(kind__in=[kind.name for kind in kinds])[:LAST_FILES]
    shown = {"form": form, "kinds": kinds, "files": [(file, KINDS[file.kind]) for file in files]}
    return render(request, "services/bring.html", shown, status=422 if form.errors else 200)


@never_cache
@require_safe
@allow(OFFICE)
def bringing_page(request, bringing_id):
    """Show how far the look at a file is, what was found in it, or what became of it."""
    row = _row(request, bringing_id)
    found = row.found or {}
    page = Paginator(found.get("faults", []), ROWS).get_page(request.GET.get("page"))
    shown = {
        "bringing": row,
        "kind": KINDS[row.kind],
        "found": found,
        "page": page,
        "separator": WORDS.get(found.get("separator", ""), ""),
        "may_undo": row.undone_at is None and bringing.may_be_undone_on(row, timezone.now()),
    }
    return render(request, "services/bringing.html", shown)


@require_POST
@allow(OFFICE)
def confirm_bringing(request, bringing_id):
    """Keep what a file brings."""
    row, now = _row(request, bringing_id), timezone.now()
    try:
        is_new = bringing.confirm(row, now=now)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        if not is_new:
            messages.success(request, _("It had been confirmed already."))
        elif bringing.is_small(row):
            bringing.run_bringing(row.pk, now=now)
    return redirect("services:bringing", row.pk)


@require_POST
@allow(OFFICE)
def undo_bringing(request, bringing_id):
    """Take back what a file brought."""
    row = _row(request, bringing_id)
    try:
        is_new = bringing.undo(row, by=request.user, now=timezone.now())
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        said = _("It is undone.") if is_new else _("There is nothing to undo.")
        messages.success(request, said)
    return redirect("services:bringing", row.pk)


@require_POST
@allow(OFFICE)
def give_up_bringing(request, bringing_id):
    """Forget a file that was not kept."""
    row = _row(request, bringing_id)
    if bringing.give_up(row, now=timezone.now()):
        messages.success(request, _("The file is forgotten; nothing of it was kept."))
    return redirect("services:bring")


@require_safe
@allow(OFFICE)
def blank(request, kind, ending):
    """Hand out a file to fill in."""
    if kind not in KINDS or ending not in TYPES:
        raise Http404
    if role_of(request.user) not in KINDS[kind].roles:
        raise PermissionDenied
    ready = KINDS[kind]()
    content = (
        "".join(bringing.blank_csv(ready)).encode()
        if ending == "csv"
        else bringing.blank_workbook(ready)
    )
    answer = HttpResponse(content, content_type=TYPES[ending])
    answer["Content-Disposition"] = f'attachment; filename="{kind}.{ending}"'
    return answer


def _asked(request, form):
    """Have a file looked at: at once where it is small, else while nobody waits."""
    now = timezone.now()
    try:
        row = bringing.ask(form.sent(), by=request.user, language=get_language(), now=now)
    except ValidationError as refusal:
        form.add_error("file", refusal.messages)
        return None
    if bringing.is_small(row):
        bringing.run_bringing(row.pk, now=now)
    return row


def _row(request, bringing_id):
    """Return a file of a kind that the person's role may bring."""
    row = get_object_or_404(Bringing.objects.select_related("asked_by"), pk=bringing_id)
    if row.kind not in KINDS or role_of(request.user) not in KINDS[row.kind].roles:
        raise PermissionDenied
    return row
