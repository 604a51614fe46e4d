"""What is found by the words in the box of each page, as far as the person may see."""

from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from clients.access import EVERYONE, STAFF, allow, has_role
from services.searching import LONGEST, search


@never_cache
@require_safe
@allow(EVERYONE)
def search_page(request):
    """Show what holds the words, the newest of each kind."""
    text = request.GET.get("words", "")[:LONGEST]
    shown = {
        "asked": text.replace("\0", "").strip(),
        "found": search(request.user, text, timezone.now()),
        "is_staff": has_role(request.user, STAFF),
    }
    return render(request, "services/search.html", shown)
