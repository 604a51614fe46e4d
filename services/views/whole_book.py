"""The whole book taken along by its owner: asked for, followed, fetched, removed."""

from django.contrib import messages
from django.http import FileResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import Role, allow
from services import whole_book
from services.models import BookExport
from services.whole_book.making import KEPT_FOR

OWNER = frozenset({Role.OWNER})
LAST = 10


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def exports(request):
    """Show the exports that were asked for, and take the asking for one."""
    if request.method == "POST":
        whole_book.ask(by=request.user, language=get_language(), now=timezone.now())
        return redirect("services:exports")
    rows = BookExport.objects.select_related("asked_by")[:LAST]
    shown = {
        "rows": rows,
        "is_open": any(row.is_waiting for row in rows),
        "days": KEPT_FOR.days,
    }
    return render(request, "services/exports.html", shown)


@require_safe
@allow(OWNER)
def export_file(request, export_id):
    """Hand out the file of an export."""
    row = get_object_or_404(BookExport, pk=export_id)
    path = whole_book.file_of(row)
    if not row.is_ready() or not path.exists():
        messages.error(request, _("Its file is not ready yet, or was removed."))
        return redirect("services:exports")
    name = f"book-{row.asked_at:%Y-%m-%d}.zip"
    answer = FileResponse(path.open("rb"), as_attachment=True, filename=name)
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_POST
@allow(OWNER)
def remove_export(request, export_id):
    """Remove the file of an export, or stop one in the making."""
    row = get_object_or_404(BookExport, pk=export_id)
    if whole_book.remove(row, at=timezone.now()):
        messages.success(request, _("The export is removed."))
    return redirect("services:exports")
