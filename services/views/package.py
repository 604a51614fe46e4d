"""A package of records to hand over: what is looked for in the register, with its proofs."""

from django.http import FileResponse, Http404, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import get_language
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from clients.access import READERS, STAFF, allow, has_role
from services import packages
from services.models import AskedPackage
from services.packing import Wanted, package
from services.views.paper import not_read, sifted, wanted_language
from treatments.models import ApplicationRecord


@require_safe
@allow(READERS)
def records_package(request):
    """Stream the records that fit what is looked for, the oldest first; many are packed apart."""
    form = sifted(request)
    if form.is_unreadable():
        return not_read(request)
    found = form.found().order_by("number")
    numbers = list(found.values_list("number", flat=True))
    if not numbers:
        raise Http404
    told = {
        "language": wanted_language(request, get_language()),
        "with_notes": has_role(request.user, STAFF),
        "by": request.user,
        "now": timezone.now(),
    }
    if packages.is_long(numbers):
        row = packages.ask_package(numbers, **told)
        return redirect("services:asked_package", row.pk)
    name = f"records-{numbers[0]}-to-{numbers[-1]}.zip"
    return handed(StreamingHttpResponse(package(Wanted(numbers, **told))), name)


@never_cache
@require_safe
@allow(READERS)
def asked_package(request, package_id):
    """Show how far a package is that the person asked for, and where it is taken from."""
    row = get_object_or_404(AskedPackage, pk=package_id, asked_by=request.user)
    return render(request, "services/asked_package.html", {"package": row})


@require_safe
@allow(READERS)
def take_package(request, package_id):
    """Hand out a package that is done to who asked for it, while its records may be seen."""
    row = get_object_or_404(AskedPackage, pk=package_id, asked_by=request.user)
    seen = set(ApplicationRecord.objects.for_user(request.user).values_list("number", flat=True))
    try:
        if row.done_at is None or not seen.issuperset(row.numbers):
            raise Http404
        file = packages.file_of(row).open("rb")
    except FileNotFoundError as gone:
        raise Http404 from gone
    return handed(FileResponse(file), row.name())


def handed(answer, name):
    """Return an answer that is kept as a file and by no cache."""
    answer["Content-Type"] = "application/zip"
    answer["Content-Disposition"] = content_disposition_header(True, name) or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer
