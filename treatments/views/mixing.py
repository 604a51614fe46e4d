"""Pages on which a mix is worked out: in a tank, and at the end of a hose."""

from typing import Any, TypeVar

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from clients.access import CREW, STAFF, allow, has_role
from clients.offering import only_looks
from treatments import mixing
from treatments.clocks import home_day
from treatments.forms.mixing import HoseForm, MixForm, PlaceForm
from treatments.models import RotationWeek, Sprayer
from treatments.preparing import sprayer_that_fits
from treatments.views.facts import EQUIPMENT, plain

Kind = TypeVar("Kind", bound=PlaceForm)
TYPED_ALWAYS = {"product", "rate"}  # a form that was sent has both, a link has not


@require_safe
@allow(CREW)
def mix(request):
    """Work out a mix tank by tank; the address holds what was asked."""
    form = form_of(MixForm, request)
    mixed = mixing.mix(form.asked(home_day())) if form.is_valid() else None
    context = {"mixed": mixed, "worn": worn_for(mixed)}
    return answer(request, form, "treatments/mix.html", **context)


@require_safe
@allow(CREW)
def hose_end(request):
    """Work out the dial of a hose-end sprayer, or the ratio of an injector."""
    form = form_of(HoseForm, request)
    metered = mixing.meter(form.asked(home_day())) if form.is_valid() else None
    context = {"metered": metered, "cautions": mixing.hose.cautions_at_the_hose()}
    return answer(request, form, "treatments/hose_end.html", **context)


def answer(request, form, template, **context):
    """Show what was worked out; 422 when something typed is wrong, but for a part of the page."""
    is_wrong = form.is_bound and bool(form.errors)
    form.offer()
    context |= {
        "form": form,
        "is_staff": has_role(request.user, STAFF),
        "query": request.GET.urlencode(),
        "is_wrong": is_wrong,
    }
    return render(request, template, context, status=422 if is_wrong and not request.htmx else 200)


def form_of(kind: type[Kind], request) -> Kind:
    """Return the form as it was sent, or as a link begins it."""
    if set(request.GET) >= TYPED_ALWAYS and not only_looks(request.GET, "product"):
        return kind(request.GET, user=request.user)
    return kind(initial=begun(kind, request), user=request.user)


def begun(kind: type[PlaceForm], request) -> dict[str, Any]:
    """Return what a form begins with: what the link says, its week of a rotation, and who asks."""
    told: dict[str, Any] = {"person": getattr(request.user, "applicator", None)}
    week = request.GET.get("week", "")
    if week.isascii() and week.isdigit():
        told |= of_week(get_object_or_404(RotationWeek.objects.select_related("rotation"), pk=week))
    told |= {name: value for name, value in request.GET.items() if name in kind.base_fields}
    if kind is MixForm and not told.get("sprayer"):
        told["sprayer"] = likely_sprayer(request.user, told.get("planting", ""))
    return told


def of_week(week: RotationWeek) -> dict:
    """Return what a week of a rotation answers of a form."""
    return {
        "product": week.product_id,
        "pest": week.rotation.pest_id,
        "plant_group": week.rotation.plant_group,
        "rate": plain(week.rate),
        "basis": week.basis,
        "adjuvant": week.adjuvant_id,
        "adjuvant_rate": plain(week.adjuvant_rate),
    }


def likely_sprayer(user, planting_id: str) -> Sprayer | None:
    """Return the sprayer that reaches a planting, where one is named that the person may see."""
    form = PlaceForm({"planting": planting_id}, user=user)
    form.is_valid()
    planting = form.cleaned_data.get("planting")
    return planting and sprayer_that_fits(Sprayer.objects.all(), planting)


def worn_for(mixed) -> list:
    """Return what the labels ask of who mixes, in words."""
    if mixed is None:
        return []
    products = [each for each in (mixed.asked.product, mixed.asked.adjuvant) if each]
    codes = dict.fromkeys(code for each in products for code in each.protective_equipment)
    return [EQUIPMENT.get(code, code) for code in codes]
