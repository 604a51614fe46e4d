"""What is signed in: a person sees and ends the own sign-ins, the owner everybody's."""

import logging

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from clients.access import EVERYONE, Role, allow, has_role
from clients.sessions import end_session, end_sessions, mark_of, signed_in
from services.showing.today import yard_zone

logger = logging.getLogger(__name__)
OWNER = frozenset({Role.OWNER})


@require_safe
@allow(EVERYONE)
def sign_ins(request):
    """Show what is signed in, the latest first."""
    is_owner = has_role(request.user, OWNER)
    found = signed_in(None if is_owner else request.user)
    this = mark_of(request.session.session_key)
    shown = {
        "sign_ins": found,
        "this": this,
        "has_others": any(each.person == request.user and each.mark != this for each in found),
        "zone": yard_zone(),
        "is_owner": is_owner,
    }
    return render(request, "services/sign_ins.html", shown)


@require_POST
@allow(EVERYONE)
def end_sign_in(request):
    """End one sign-in by its mark, or all of the person's others."""
    mark = request.POST.get("mark")
    if mark is None:
        ended = end_sessions(request.user, keep=request.session.session_key)
        words = ngettext("%(n)d sign-in was ended.", "%(n)d sign-ins were ended.", ended)
        messages.success(request, words % {"n": ended})
        logger.info("other sign-ins ended", extra={"by": request.user.pk, "ended": ended})
    elif end_session(mark, None if has_role(request.user, OWNER) else request.user):
        logger.info("sign-in ended", extra={"by": request.user.pk, "mark": mark})
        messages.success(request, _("The sign-in was ended."))
    else:
        messages.warning(request, _("That sign-in has ended already."))
    return redirect("services:sign_ins")
