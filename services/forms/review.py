"""What the office types of a report from a phone: what it decides, and what makes a draft whole."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext_lazy as _

from services.asked_of_crews import TYPED_FOR
from services.models import FieldEvent, Visit

AROUND = timedelta(days=14)  # of the day it was done, in which its visit is looked for
AIR = ("wind_mph", "wind_direction", "temperature_f", "humidity_percent", "hours_to_rain")


class DecisionForm(forms.Form):
    """What is decided of a report, and why."""

    decision = forms.ChoiceField(label=_("decision"), widget=forms.RadioSelect)
    reason = forms.CharField(
        label=_("reason"),
        widget=forms.Textarea(attrs={"rows": 2}),
        max_length=1000,
        help_text=_("In ten signs or more; whom you asked, what was found."),
    )

    def __init__(self, *args, open_to: Iterable[str], **kwargs):
        super().__init__(*args, **kwargs)
        words = dict(FieldEvent.Decision.choices)
        decision: Any = self.fields["decision"]
        decision.choices = [(each, words[each]) for each in open_to]


class VisitChoice(forms.ModelChoiceField):
    """A visit by its place and day."""

    def label_from_instance(self, visit):
        return f"{visit.planned:%Y-%m-%d} · {visit.course.property} · {visit.course.rotation}"


class WhichVisitForm(forms.Form):
    """Which visit a draft is of."""

    visit = VisitChoice(
        Visit.objects.none(),
        label=_("visit"),
        empty_label=_("choose"),
        help_text=_(
            "Those of two weeks before and after. Where there was none, take a single step on the "
            "planting first."
        ),
    )

    def __init__(self, *args, done_at: datetime, **kwargs):
        super().__init__(*args, **kwargs)
        day = done_at.date()
        near = Visit.objects.planned_in(day - AROUND, day + AROUND)
        visit: Any = self.fields["visit"]
        visit.queryset = near.select_related("course__property", "course__rotation")


def typed_of(told: Mapping[str, Any], visit: Visit) -> dict[str, Any]:
    """Return what a phone told as a form of the visit begins with it; hours by the place's clocks.

    told: the event as it was sent
    """
    body, zone = told.get("body", {}), visit.course.property.zone()
    air = body.get("conditions") or {}
    done, started = _moment(told.get("done_at"), zone), _moment(body.get("started_at"), zone)
    posted = _moment(body.get("posted_at"), zone)
    typed = {name: air.get(name) for name in AIR}
    typed |= {
        "day": done.date() if done else None,
        "started": f"{started:%H:%M}" if started else None,
        "ended": f"{done:%H:%M}" if done else None,
        "posted": f"{posted:%H:%M}" if posted else None,
        "applicator": body.get("applicator"),
        "supervisor": body.get("supervisor"),
        "note": body.get("note"),
        "left": (body.get("left_out") or {}).get("plantings"),
        "why_left": (body.get("left_out") or {}).get("why"),
    }
    for report in body.get("reports") or []:
        typed |= _of_report(report)
    return {name: value for name, value in typed.items() if value not in (None, "")}


def _of_report(report: Mapping[str, Any]) -> dict[str, Any]:
    planting = report.get("planting")
    return {
        f"amount_{planting}": report.get("product_amount"),
        f"spray_{planting}": report.get("mix_gallons"),
        "lot": report.get("lot"),
        "sprayer": report.get("sprayer"),
        "worn": report.get("protective_equipment"),
        "incident": report.get("incident"),
        **{name: report.get(name) for name, _label in TYPED_FOR.values()},
    }


def _moment(text: Any, zone) -> datetime | None:
    try:
        moment = parse_datetime(text) if isinstance(text, str) else None
    except ValueError:
        return None
    return moment.astimezone(zone) if moment and moment.tzinfo else None
