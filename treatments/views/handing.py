"""Notes that clients were given copies of records: one on its page, or several at once."""

from django.contrib import messages
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from clients.access import CREW, allow
from treatments.forms.handing import CopiesForm
from treatments.models import ApplicationRecord


@require_POST
@allow(CREW)
def note_copies(request):
    """Keep of which records the clients have copies, since when and how they came to them."""
    kept = ApplicationRecord.objects.for_user(request.user).current()
    form = CopiesForm(request.POST, records=kept)
    count = form.give(request.user, timezone.now()) if form.is_valid() else None
    if count is None:
        for sentence in form.sentences():
            messages.error(request, sentence)
    elif count:
        words = ngettext(
            "It is noted that %(count)s copy was given.",
            "It is noted that %(count)s copies were given.",
            count,
        )
        messages.success(request, words % {"count": count})
    else:
        messages.success(request, _("That was noted before."))
    numbers = form.numbers()
    if len(numbers) == 1 and kept.filter(number=numbers[0]).exists():
        return redirect("treatments:record", numbers[0])
    return redirect("treatments:records_due")
