"""A package of records to hand over: what is looked for in the register, with its proofs."""

from django.http import Http404, StreamingHttpResponse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from clients.access import READERS, STAFF, allow, has_role
from services.packing import Wanted, package
from services.project.errors import tell
from services.views.paper import not_read, sifted, wanted_language

MOST_AT_ONCE = 500  # while somebody waits; more are packed by the command, our own choice


@require_safe
@allow(READERS)
def records_package(request):
    """Stream the records that fit what is looked for, the oldest first."""
    form = sifted(request)
    if form.is_unreadable():
        return not_read(request)
    found = form.found().order_by("number")
    records = list(found.select_related("amends")[: MOST_AT_ONCE + 1])
    if not records:
        raise Http404
    if len(records) > MOST_AT_ONCE:
        sentence = _("More than %(most)s records are too many to pack while you wait.")
        remedy = _("Narrow the days down, or have the owner run: manage.py pack_records FILE")
        return tell(request, 422, sentence % {"most": MOST_AT_ONCE}, remedy)
    wanted = Wanted(
        records=records,
        language=wanted_language(request, get_language()),
        now=timezone.now(),
        with_notes=has_role(request.user, STAFF),
        by=request.user,
    )
    answer = StreamingHttpResponse(package(wanted), content_type="application/zip")
    name = f"records-{records[0].number}-to-{records[-1].number}.zip"
    answer["Content-Disposition"] = content_disposition_header(True, name) or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer
