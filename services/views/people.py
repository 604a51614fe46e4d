"""People: who works in which crew, who may apply what, and until when."""

from django.contrib import messages
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import OFFICE, STAFF, Role, allow, has_role, role_of
from clients.sorting import Order
from clients.views import entry
from services import people as acting
from services.dispatching import today_at_yard
from services.forms.people import PasswordForm, PersonForm, RoleForm, TechnicianForm
from services.models import Technician
from services.showing.people import people_shown

OWNER = frozenset({Role.OWNER})
PEOPLE_BY = {"person": "name", "role": "role", "crew": "crew", "language": "language"}
CERTIFICATES_BY = {
    "holder": "name",
    "certificate": "number",
    "where": "where",
    "expires": "expires",
}


@require_safe
@allow(STAFF)
def people(request):
    """Show crews, people and certificates."""
    by_person = Order(request.GET, PEOPLE_BY, usual="crew")
    by_certificate = Order(request.GET, CERTIFICATES_BY, usual="holder")
    shown = people_shown(today_at_yard())
    context = {
        "shown": shown,
        "people": by_person.listed(shown.people()),
        "by_person": by_person,
        "certificates": by_certificate.listed(shown.held()),
        "by_certificate": by_certificate,
        "is_owner": has_role(request.user, OWNER),
        "is_office": has_role(request.user, OFFICE),
    }
    return render(request, "services/people.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new_person(request):
    """Add a person who may sign in."""
    form = PersonForm(request.POST or None)
    if form.is_valid() and (
        user := _done(form, acting.add_person, by=request.user, **form.given())
    ):
        messages.success(request, _("%(name)s is in the book.") % {"name": user.get_full_name()})
        return redirect("services:people")
    return entry(request, form, "services/new_person.html")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def edit_person(request, user_id):
    """Change a person's name, crew, language and hours."""
    user = get_object_or_404(get_user_model(), pk=user_id)
    technician = Technician.objects.filter(user=user).first() or Technician(user=user)
    form = TechnicianForm(request.POST or None, instance=technician)
    if form.is_valid():
        form.save()
        return redirect("services:people")
    return entry(request, form, "services/edit_person.html", person=user, role=role_of(user))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def change_role(request, user_id):
    """Give a person another role; the person signs in anew."""
    user = get_object_or_404(get_user_model(), pk=user_id, is_active=True)
    form = RoleForm(request.POST or None, initial={"role": role_of(user)})
    if form.is_valid():
        role = Role(form.cleaned_data["role"])
        if _done(form, acting.set_role, user, role, by=request.user) is not None:
            return redirect("services:people")
    return entry(request, form, "services/change_role.html", person=user)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def set_password(request, user_id):
    """Give a person a password; the person signs in anew with it."""
    user = get_object_or_404(get_user_model(), pk=user_id, is_active=True)
    form = PasswordForm(request.POST or None)
    if form.is_valid():
        password = form.cleaned_data["password"]
        if _done(form, acting.set_password, user, password, by=request.user) is not None:
            messages.success(request, _("The new password holds from now on."))
            return redirect("services:people")
    return entry(request, form, "services/set_password.html", person=user)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def let_go(request, user_id):
    """Ask whether a person's sign-in is to be closed, and close it."""
    user = get_object_or_404(get_user_model(), pk=user_id)
    if request.method == "POST":
        try:
            acting.let_go(user, by=request.user)
        except ValidationError as refusal:
            messages.error(request, " ".join(refusal.messages))
        return redirect("services:people")
    return render(request, "services/let_go.html", {"person": user})


def _done(form, action, *given, **named):
    """Return what an action gave, or None with its refusal among the errors of the form."""
    try:
        return action(*given, **named)
    except ValidationError as refusal:
        form.add_refusal(refusal)
        return None
