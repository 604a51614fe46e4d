"""A package of records to hand over: what is looked for in the register, with its proofs."""

from django.http import Http404, StreamingHttpResponse
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import get_language
from django.views.decorators.http import require_safe

from clients.access import READERS, STAFF, allow, has_role
from services.packing import Wanted, package
from services.views.paper import not_read, sifted, wanted_language


@require_safe
@allow(READERS)
def records_package(request):
    """Stream the records that fit what is looked for, however many, the oldest first."""
    form = sifted(request)
    if form.is_unreadable():
        return not_read(request)
    found = form.found().order_by("number")
    numbers = list(found.values_list("number", flat=True))
    if not numbers:
        raise Http404
    wanted = Wanted(
        numbers=numbers,
        language=wanted_language(request, get_language()),
        now=timezone.now(),
        with_notes=has_role(request.user, STAFF),
        by=request.user,
    )
    answer = StreamingHttpResponse(package(wanted), content_type="application/zip")
    name = f"records-{numbers[0]}-to-{numbers[-1]}.zip"
    answer["Content-Disposition"] = content_disposition_header(True, name) or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer
