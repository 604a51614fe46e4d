"""How a visit stands, in a sign on its day and in words beside it."""

from collections.abc import Mapping
from datetime import date

from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _

from services.courses import Mark, day_of, mark_of
from services.models import Visit
from services.sheets.dates import clock, short_day

SIGNS = {
    Mark.PLANNED: "planned",
    Mark.DISPATCHED: "dispatched",
    Mark.HELD: "held",
    Mark.UNDER_WAY: "dispatched",
    Mark.DONE: "kept",
}
SIGNS_SAID = {
    "planned": gettext_lazy("planned"),
    "dispatched": gettext_lazy("dispatched"),
    "held": gettext_lazy("held"),
    "kept": gettext_lazy("done"),
}
SAID = {
    Mark.PLANNED: gettext_lazy("planned for %(day)s"),
    Mark.UNDER_WAY: gettext_lazy("under way"),
    Mark.DONE: gettext_lazy("done on %(day)s"),
    Mark.CANCELLED: gettext_lazy("cancelled"),
}


def standing_of(visit: Visit, today: date) -> str:
    """Return in words how a visit stands."""
    mark, language = mark_of(visit), get_language()
    facts = {"day": short_day(day_of(visit), language)}
    if mark is Mark.HELD:
        return _("held: %(reason)s") % {"reason": visit.open_hold().get_reason_display()}
    if visit.is_late_on(today):
        return _("late: the last day was %(day)s") % {"day": short_day(visit.latest, language)}
    if mark is Mark.DISPATCHED:
        return _dispatched(visit, facts)
    if mark is Mark.PLANNED and visit.planned < today:
        facts["latest"] = short_day(visit.latest, language)
        return _("was planned for %(day)s, may go until %(latest)s") % facts
    return SAID[mark] % facts


def _dispatched(visit: Visit, facts: Mapping[str, str]) -> str:
    facts = {**facts, "crew": str(visit.dispatch.crew) if visit.dispatch else ""}
    if visit.arrives_at is None:
        return _("%(crew)s, %(day)s") % facts
    arrives = visit.arrives_at.astimezone(visit.course.property.zone())
    return _("%(crew)s, %(day)s, %(hour)s") % {**facts, "hour": clock(arrives, get_language())}
