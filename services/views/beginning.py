"""The first page of a new book: its owner signs up."""

from django.contrib import messages
from django.contrib.auth import get_user_model, login
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from clients.views import entry
from services.forms.people import OwnerForm
from services.people import first_owner


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def begin(request):
    """Sign up the first owner; there is no such page once somebody is in the book."""
    if get_user_model().objects.exists():
        raise Http404
    form = OwnerForm(request.POST or None)
    if form.is_valid() and (owner := _signed_up(form)):
        login(request, owner, backend="django.contrib.auth.backends.ModelBackend")
        messages.success(request, _("You are the owner of this book. Say now whose book it is."))
        return redirect("treatments:business")
    return entry(request, form, "services/begin.html")


def _signed_up(form):
    try:
        return first_owner(**form.given())
    except ValidationError as refusal:
        form.add_refusal(refusal)
        return None
