"""The page on which a rotation is composed, copied or changed."""

from dataclasses import dataclass

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.access import STAFF, allow
from treatments.clocks import home_day
from treatments.composing import finding_key, is_in_use
from treatments.forms.rotations import WeekForm
from treatments.forms.sheet import FEWEST, MOST, Sheet, blank_sheet, sheet_of, typed_sheet
from treatments.models import Rotation
from treatments.rules.findings import Finding, Severity
from treatments.rules.rotation_checks import by_week


@dataclass(frozen=True, slots=True)
class Note:
    """A finding beside its week, with the reason typed for it; only the first asks for one."""

    finding: Finding
    key: str
    reason: str
    asks: bool


@dataclass(frozen=True, slots=True)
class WeekRow:
    """A week on the sheet: its form, what its label allows, and the notes beside it."""

    number: int
    form: WeekForm
    label_rates: list[str]
    notes: list[Note]


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def compose(request, rotation_id=None, is_copy=False):
    """Compose a rotation; what the rules say stands beside each week."""
    rotation = rotation_to(rotation_id)
    if rotation and not is_copy and is_in_use(rotation):
        messages.info(request, _("It is on a course and stays as it is; this is another like it."))
        return redirect("treatments:copy_rotation", rotation_id)
    if request.method == "POST":
        return answer(request, rotation, is_copy)
    sheet = (
        sheet_of(rotation, request.user, is_copy=is_copy) if rotation else blank_sheet(request.user)
    )
    return show(request, sheet, rotation, is_copy)


def answer(request, rotation, is_copy):
    """Keep what was sent, or show it after another week, one less, or a look at the rules."""
    sheet = typed_sheet(request.POST, request.user)
    do = request.POST.get("do", "check")
    if do != "keep":
        return show(request, sheet.changed(do), rotation, is_copy)
    sheet = sheet.without_blank_end()
    if sheet.is_valid() and (kept := sheet.keep(None if is_copy else rotation)):
        messages.success(request, said_of(kept))
        return redirect("treatments:rotation", kept.pk)
    return show(request, sheet, rotation, is_copy, with_reproof=True)


def said_of(kept):
    """Return what is said of a rotation that was kept."""
    if kept.is_draft:
        return _("The draft is in the book; somebody who holds a certificate approves it.")
    return _("The rotation is in the book.")


def show(request, sheet: Sheet, rotation, is_copy, *, with_reproof=False):
    """Show the sheet with its notes; 422 when something is wrong, 412 after another's change."""
    findings = sheet.findings(home_day())
    form, weeks = (sheet.rotation, sheet.weeks) if with_reproof else sheet.without_reproof()
    form.offer()
    noted = by_week(findings)
    rows = [
        WeekRow(
            number, each, label_rates(sheet, number), notes(noted.get(number, []), sheet.reasons)
        )
        for number, each in enumerate(weeks, 1)
    ]
    said = {note.key for row in rows for note in row.notes}
    context = {
        "form": form,
        "rows": rows,
        "following": following(rows),
        "left_out": sheet.catalogue.left_out(),
        "whole": notes(noted.get(None, []), sheet.reasons),
        "others": {key: why for key, why in sheet.reasons.items() if why and key not in said},
        "rotation": rotation,
        "is_copy": is_copy,
        "may_grow": len(rows) < MOST,
        "may_shrink": len(rows) > FEWEST,
    }
    return render(request, "treatments/compose.html", context, status=status_of(form, with_reproof))


def following(rows: list[WeekRow]) -> str:
    """Return the parts of the page that follow a change of what the rotation is for: their ids.

    What was chosen among the products is sent along, so a list that follows keeps it; nothing can
    be chosen there until it has followed.
    """
    parts = ["notes-0", "left-out"]
    for row in rows:
        lists = (row.form["product"], row.form["adjuvant"])
        parts += [f"beside-{row.number}", f"notes-{row.number}", *(e.id_for_label for e in lists)]
    return ",".join(f"#{part}" for part in parts)


def status_of(form, with_reproof: bool) -> int:
    """Return what the page answers with."""
    if not with_reproof:
        return 200
    stale = any(error.code == "stale" for error in form.errors.as_data().get("__all__", []))
    return 412 if stale else 422


def notes(findings, reasons) -> list[Note]:
    """Return the notes beside a week; two findings of one kind share a reason."""
    asked, found = set(), []
    for finding in findings:
        key = finding_key(finding)
        asks = finding.severity is Severity.WARNING and key not in asked
        asked.add(key)
        found.append(Note(finding, key, reasons.get(key, ""), asks))
    return found


def label_rates(sheet: Sheet, number: int) -> list[str]:
    """Return the rates that the label of a week's product gives for the site and pest."""
    week, typed = sheet.weeks[number - 1], sheet.rotation
    week.is_valid()
    typed.is_valid()
    product = week.cleaned_data.get("product")
    if product is None:
        return []
    site, pest = typed.cleaned_data.get("plant_group", ""), typed.cleaned_data.get("pest")
    rates = sheet.catalogue.rates(product, site, pest)
    return [
        _("%(least)s to %(most)s %(basis)s")
        % {
            "least": f"{rate.minimum.normalize():f}",
            "most": f"{rate.maximum.normalize():f}",
            "basis": rate.basis,
        }
        for rate in rates
    ]


def rotation_to(rotation_id):
    """Return the rotation that is changed or copied, or None for a new one."""
    if rotation_id is None:
        return None
    found = Rotation.objects.prefetch_related(
        "weeks__product", "weeks__adjuvant", "accepted_warnings"
    )
    return get_object_or_404(found, pk=rotation_id)
