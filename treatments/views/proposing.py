"""The page on which rotations are proposed, changed week by week, and kept."""

from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.access import OFFICE, STAFF, allow, has_role
from clients.models import Planting
from clients.offering import only_looks
from treatments.clocks import home_day
from treatments.composing import FindingsStand
from treatments.forms.proposing import (
    ProposalForm,
    begun,
    given_up_sent,
    own_rates_sent,
    pins_sent,
)
from treatments.forms.sheet import REASON
from treatments.proposing import Asked, NothingOnOffer, Proposed, keep_proposal, propose
from treatments.rules.composing import ProofMissing
from treatments.views.asking import WHOLE, Address
from treatments.views.composing import Note, notes
from treatments.views.proposals import Opened, left_out_of, shown_of


@dataclass(slots=True)
class Kept:
    """What was typed to keep a proposal, and what stands against it."""

    name: str = ""
    number: int = 0
    reasons: dict[str, str] = field(default_factory=dict)
    problems: list[str] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def propose_rotations(request):
    """Propose rotations for plantings; keep the one that was chosen."""
    query = request.POST if request.method == "POST" else request.GET
    form = form_of(query, request.user)
    asked = asked_of(form, query)
    kept = Kept()
    if request.method == "POST" and asked is not None:
        kept = typed_to_keep(request.POST)
        if rotation_url := keep(request, asked, kept):
            return redirect(rotation_url)
    return show(request, form, asked, kept)


def form_of(query: QueryDict, user) -> ProposalForm:
    """Return the form as it was sent, or as it begins: with what the address names."""
    if "asked" in query:
        if only_looks(query, "plantings"):
            return ProposalForm(initial=typed_in(query), user=user)
        return ProposalForm(query, user=user)
    keys = [key for key in query.getlist("plantings") if key.isascii() and key.isdigit()]
    plantings = Planting.objects.for_user(user).select_related("property").filter(pk__in=keys)
    initial = begun(home_day(), plantings.first())
    named = {"plantings": keys, "pest": query.get("pest")}
    return ProposalForm(initial=initial | named, user=user)


def typed_in(query: QueryDict) -> dict[str, Any]:
    """Return what was typed in the form, as it begins with once more."""
    fields = ProposalForm.base_fields.items()
    return {name: field.widget.value_from_datadict(query, {}, name) for name, field in fields}


def asked_of(form: ProposalForm, query: QueryDict) -> Asked | None:
    """Return what is asked for, or None as long as something is missing or wrong."""
    if not form.is_valid():
        return None
    return form.asked(
        today=home_day(),
        pins=pins_sent(query.getlist("pin")),
        given_up=given_up_sent(query.getlist("given_up")),
        own_rates=own_rates_sent(query.dict()),
    )


def typed_to_keep(post: QueryDict) -> Kept:
    """Return what was typed under a proposal."""
    number = post.get("plan", "")
    reasons = {
        name.removeprefix(REASON): str(why) for name, why in post.items() if name.startswith(REASON)
    }
    return Kept(post.get("name", "").strip(), int(number) if number.isdecimal() else 0, reasons)


def keep(request, asked: Asked, kept: Kept) -> str:
    """Keep a proposal and return the address of the rotation; empty where something stands."""
    try:
        rotation, first_day = keep_proposal(
            asked,
            codes=request.POST.get("codes", "").split(","),
            name=kept.name,
            by=request.user,
            reasons=kept.reasons,
        )
    except FindingsStand as stand:
        kept.problems, kept.notes = stand.messages, notes(stand.findings, kept.reasons)
    except ValidationError as refused:
        kept.problems = refused.messages
    else:
        messages.success(request, _("The rotation is in the book."))
        there = reverse("treatments:rotation", args=[rotation.pk])
        return f"{there}?{onward(asked, first_day)}"
    return ""


def onward(asked: Asked, first_day) -> str:
    """Return what the page of a rotation is told, so that it can be put on the same plantings."""
    query = QueryDict(mutable=True)
    query["from"] = first_day.isoformat()
    query.setlist("planting", [str(planting.pk) for planting in asked.plantings])
    return query.urlencode()


def show(request, form: ProposalForm, asked: Asked | None, kept: Kept):
    """Show what is asked and what came of it; 422 where something is to be put right."""
    query = request.POST if request.method == "POST" else request.GET
    address = Address(query)
    form.offer()
    context = {
        "form": form,
        "address": address,
        "kept": kept,
        "may_keep": True,
    }
    try:
        proposed = propose(asked) if asked else None
    except NothingOnOffer as nothing:
        context |= {"is_nothing": True, "left_out": left_out_of(nothing.left_out)}
    except ProofMissing:
        form.add_error(None, _("This takes too long to prove. Ask for fewer weeks."))
    else:
        context |= (
            said_of(proposed, address, opened_by(query, request.user), kept) if proposed else {}
        )
    is_wrong = bool(form.errors) or bool(kept.problems)
    return render(request, "treatments/propose.html", context, status=422 if is_wrong else 200)


def said_of(proposed: Proposed, address: Address, opened: Opened, kept: Kept) -> dict:
    """Return what the page says of an answer."""
    asked = proposed.asked
    name = _("%(pest)s on %(site)s from %(day)s") % {
        "pest": asked.pest,
        "site": asked.plantings[0].get_plant_group_display(),
        "day": date_format(asked.first_day, "j M Y"),
    }
    return {
        "proposed": proposed,
        "shown": shown_of(proposed, address, opened),
        "name": kept.name or name,
    }


def opened_by(query: QueryDict, user) -> Opened:
    """Return the plan that an address opens, with the week or table that it shows."""
    numbers = [query.get(name, "") for name in ("plan", "why")]
    plan, week = (int(each) if each.isdecimal() else 0 for each in numbers)
    is_whole = query.get("why") == WHOLE
    return Opened(plan, week, is_whole, shows_prices=has_role(user, OFFICE))
