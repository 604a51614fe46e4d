"""The sheet on which a rotation is composed: weeks come and go, and nothing typed is lost."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from treatments.checking import check_weeks
from treatments.clocks import home_day
from treatments.composing import WEEK_COLUMNS, keep_rotation
from treatments.forms.refusals import tell
from treatments.forms.rotations import STRIDE, Catalogue, RotationForm, WeekForm
from treatments.models import Rotation, RotationWeek
from treatments.rules.findings import Finding

FEWEST, USUAL, MOST = 3, 6, 26  # weeks; our own choice
BLANK_WEEK = {"step": RotationWeek.Step.SPRAY.value, **STRIDE}
REASON = "reason-"
FIELDS = list(RotationForm.base_fields)
WEEK_FIELDS = list(WeekForm.base_fields)

Typed = dict[str, Any]


class Sheet:
    """What was typed of a rotation, with a form for it and one for each week."""

    def __init__(self, *, rotation: Typed, weeks: list[Typed], reasons: dict[str, str], user):
        self.typed, self.typed_weeks, self.reasons, self.user = rotation, weeks, reasons, user
        self.catalogue = Catalogue(rotation.get("plant_group", ""), str(rotation.get("pest", "")))
        self.rotation = RotationForm(rotation, user=user)
        self.weeks = [
            self._week_form(
                place, data={f"weeks-{place}-{name}": value for name, value in week.items()}
            )
            for place, week in enumerate(weeks)
        ]

    def _week_form(self, place: int, **given) -> WeekForm:
        return WeekForm(prefix=f"weeks-{place}", catalogue=self.catalogue, **given)

    def is_valid(self) -> bool:
        """Say whether all can be read; a week that cannot be is told of above as well."""
        self.rotation.is_valid()
        for number, form in enumerate(self.weeks, 1):
            if not form.is_valid():
                self.rotation.add_error(None, _("Week %(n)s is not complete.") % {"n": number})
        return self.rotation.is_valid()

    def without_reproof(self) -> tuple[RotationForm, list[WeekForm]]:
        """Return the forms with what was typed in them, and no word about what is wrong."""
        weeks = [
            self._week_form(place, initial=week) for place, week in enumerate(self.typed_weeks)
        ]
        return RotationForm(initial=self.typed, user=self.user), weeks

    def as_weeks(self) -> list[RotationWeek]:
        """Return the weeks as far as they can be read, numbered from one."""
        for form in self.weeks:
            form.is_valid()
        return [form.week(number) for number, form in enumerate(self.weeks, 1)]

    def findings(self, today: date) -> list[Finding]:
        """Return what the rules say of the weeks, as far as these can be read."""
        self.rotation.is_valid()
        told = self.rotation.cleaned_data
        if not (told.get("pest") and told.get("first_day")):
            return []
        return check_weeks(
            self.as_weeks(),
            pest=told["pest"],
            first_day=told["first_day"],
            plantings=list(told.get("plantings") or ()),
            plant_group=told.get("plant_group", ""),
            today=today,
        )

    def changed(self, do: str) -> "Sheet":
        """Return the sheet after a button: another week, or one week less."""
        word, _space, number = do.partition(" ")
        if word == "another" and len(self.typed_weeks) < MOST:
            return self._with(weeks=[*self.typed_weeks, BLANK_WEEK])
        if word == "without" and number.isdigit() and len(self.typed_weeks) > FEWEST:
            place = int(number) - 1
            left = [week for each, week in enumerate(self.typed_weeks) if each != place]
            return self._with(weeks=left, reasons=moved_up(self.reasons, int(number)))
        return self

    def without_blank_end(self) -> "Sheet":
        """Return the sheet without the last weeks, where nothing was chosen for them."""
        weeks = list(self.typed_weeks)
        while len(weeks) > FEWEST and _is_blank(weeks[-1]):
            weeks.pop()
        return self._with(weeks=weeks)

    def _with(self, *, weeks: list[Typed], reasons: dict[str, str] | None = None) -> "Sheet":
        return Sheet(
            rotation=self.typed,
            weeks=weeks,
            reasons=self.reasons if reasons is None else reasons,
            user=self.user,
        )

    def keep(self, rotation: Rotation | None) -> Rotation | None:
        """Keep the rotation, new or in place of what it was; None when that is refused."""
        typed = dict(self.rotation.cleaned_data)
        del typed["words"]
        try:
            return keep_rotation(
                **typed,
                weeks=self.as_weeks(),
                by=self.user,
                reasons=self.reasons,
                rotation=rotation,
            )
        except ValidationError as refused:
            tell(self.rotation, refused)
            return None


def _is_blank(week: Typed) -> bool:
    told = {name for name, value in week.items() if value and name not in STRIDE}
    return told <= {"step"} and week.get("step") == BLANK_WEEK["step"]


def moved_up(reasons: Mapping[str, str], removed: int) -> dict[str, str]:
    """Return the reasons under the new numbers of their weeks after one was taken out.

    >>> moved_up({"0-a": "x", "2-b": "y", "3-c": "z"}, removed=2)
    {'0-a': 'x', '2-c': 'z'}
    """
    moved = {}
    for key, reason in reasons.items():
        week, _dash, code = key.partition("-")
        number = int(week) if week.isdigit() else 0
        if number != removed:
            moved[f"{number - (number > removed)}-{code}"] = reason
    return moved


def typed_sheet(post, user) -> Sheet:
    """Return the sheet as it was sent."""
    return Sheet(
        rotation=_sent(post, FIELDS, "") | {"plantings": post.getlist("plantings")},
        weeks=[_sent(post, WEEK_FIELDS, f"weeks-{place}-") for place in range(_number_sent(post))],
        reasons={
            name.removeprefix(REASON): value
            for name, value in post.items()
            if name.startswith(REASON)
        },
        user=user,
    )


def _number_sent(post) -> int:
    number = post.get("weeks", "")
    return min(int(number), MOST) if number.isascii() and number.isdigit() else USUAL


def _sent(post, names: list[str], prefix: str) -> Typed:
    return {name: post[prefix + name] for name in names if prefix + name in post}


def blank_sheet(user) -> Sheet:
    """Return the sheet of a rotation nobody has begun."""
    first = {"first_day": home_day().isoformat()}
    return Sheet(rotation=first, weeks=[BLANK_WEEK] * USUAL, reasons={}, user=user)


def sheet_of(rotation: Rotation, user, *, is_copy: bool) -> Sheet:
    """Return the sheet of a kept rotation, or of another like it that needs a name of its own."""
    name = _("%(name)s (copy)") % {"name": rotation.name} if is_copy else rotation.name
    warnings = rotation.accepted_warnings.all()
    return Sheet(
        rotation={
            "name": name,
            "pest": rotation.pest_id,
            "plant_group": rotation.plant_group,
            "first_day": home_day().isoformat(),
            "note": rotation.note,
            "version": "" if is_copy else rotation.version,
        },
        weeks=[dict(_columns(week)) for week in rotation.weeks.all()],
        reasons={f"{each.week or 0}-{each.code}": each.reason for each in warnings},
        user=user,
    )


def _columns(week: RotationWeek) -> Iterator[tuple[str, Any]]:
    for column in WEEK_COLUMNS:
        value = getattr(week, column)
        if column in ("product", "adjuvant"):
            value = value and str(value.pk)
        if column != "week" and value not in (None, "", False):
            yield column, f"{value.normalize():f}" if hasattr(value, "normalize") else value
