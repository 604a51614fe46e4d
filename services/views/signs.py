"""Posting signs true to size, and that somebody compared them with the code."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import CREW, Role, allow, has_role
from clients.models import Property
from services.forms.own_signs import OwnSignForm
from services.models import Visit
from services.printing.posting_signs import (
    design_for,
    may_be_printed,
    posting_sign_pdf,
    smaller_signs,
    why_no_sign,
)
from services.printing.signs import sign_says
from services.project.errors import tell
from services.sheets.posting_sign import SignDoesNotFit
from services.views.paper import pdf, wanted_language
from treatments.rules.records import (
    UNSURE,
    design_of,
    posting_for,
    spacings_of,
)
from treatments.signing import confirm_sign, keep_own_sign

OWNER = frozenset({Role.OWNER})


@require_safe
@allow(CREW)
def posting_sign(request, visit_id):
    """Print the sign that a visit leaves behind."""
    visits = Visit.objects.for_user(request.user).with_all_that_is_shown()
    visit = get_object_or_404(visits, pk=visit_id)
    return sign_paper(request, visit.course.property, visit)


@require_safe
@allow(CREW)
def property_sign(request, property_id):
    """Print the sign of a property, with the day to be written in."""
    place = get_object_or_404(Property.objects.for_user(request.user), pk=property_id)
    return sign_paper(request, place)


def sign_paper(request, place, visit=None):
    """Answer with a sign, or say why none is printed; a smaller one where that was asked for."""
    apart_ft = asked_apart(request.GET, smaller_signs(place))
    design = design_for(place, apart_ft)
    if design is None:
        return tell(request, 422, *why_no_sign(place))
    if not may_be_printed(design):
        return not_printed(request, design)
    language = wanted_language(request, get_language())
    try:
        paper = posting_sign_pdf(design, place, language=language, now=timezone.now(), visit=visit)
    except SignDoesNotFit:
        sentence = _("The name of the business is too long for the letters of this sign.")
        return tell(request, 422, sentence, _("Have it printed by a sign maker."))
    size = f"-{apart_ft}-ft" if apart_ft else ""
    return pdf(paper, f"posting-sign-{design.posting.jurisdiction}{size}")


def asked_apart(asked, allowed):
    """Return how many feet apart the smaller sign stands that is asked for, None for the large."""
    apart = asked.get("apart", "")
    if apart and apart not in map(str, allowed):
        raise Http404
    return int(apart) if apart else None


def not_printed(request, design):
    """Say what is not known of a sign; the owner may compare it with the code and confirm."""
    context = {
        "design": design,
        "posting": design.posting,
        "says": sign_says(design.posting),
        "unsure": [_(UNSURE[each]) for each in design.unsure],
        "may_enter": has_role(request.user, OWNER),
        "may_confirm": design.can_be_printed() and has_role(request.user, OWNER),
        "way": request.get_full_path(),
        "apart": request.GET.get("apart", ""),
    }
    return render(request, "services/sign_not_printed.html", context, status=422)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def own_sign(request, jurisdiction):
    """Take a sign from the code where the book's table does not hold all of it."""
    posting = posting_for(jurisdiction)
    if posting is None:
        raise Http404
    design = design_of(posting, asked_apart(request.GET, spacings_of(posting)))
    form = OwnSignForm(request.POST or None, request.FILES or None, design=design)
    if request.method == "POST" and form.is_valid():
        keep_own_sign(design=design, told=form.told(), by=request.user, at=timezone.now())
        messages.success(request, _("The sign is kept as yours and can be printed."))
        return redirect("services:home")
    context = {"form": form, "posting": posting, "says": sign_says(design.posting)}
    status = 422 if request.method == "POST" else 200
    return render(request, "services/own_sign.html", context, status=status)


@require_POST
@allow(OWNER)
def confirm(request, jurisdiction):
    """Keep that the owner compared the sign of a jurisdiction with the code."""
    posting = posting_for(jurisdiction)
    if posting is None:
        raise Http404
    design = design_of(posting, asked_apart(request.POST, spacings_of(posting)))
    if not design.can_be_printed():
        raise Http404
    confirm_sign(design=design, by=request.user, at=timezone.now())
    messages.success(request, _("The sign is confirmed and can be printed."))
    way = request.POST.get("way", "")
    is_ours = url_has_allowed_host_and_scheme(way, {request.get_host()})
    return redirect(way if is_ours else "services:home")
