"""Puts a single step without a spray on a planting: a visit to wash, clean up, release or count."""

from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _
from django.utils.translation import override

from clients.models import Planting
from services.courses.putting_on import put_on
from services.models import Course
from treatments.models import Pest, Rotation, RotationWeek

Step = RotationWeek.Step
NAMES = {
    Step.WASH: _("Wash down: %(pest)s"),
    Step.CLEAN: _("Clean up: %(pest)s"),
    Step.RELEASE: _("Release natural enemies: %(pest)s"),
    Step.WATCH: _("Count: %(pest)s"),
}


@transaction.atomic
def take_step(
    *, planting: Planting, pest: Pest, step: str, day: date, by: Any, today: date
) -> Course:
    """Plan one step without a spray as a visit on a day; the same step twice is planned once.

    Raise ValidationError with code "is_spray" for a step that a rotation has to be composed for.
    """
    if step not in NAMES:
        raise ValidationError(
            _("A spray is planned with a rotation, so that labels and groups are checked."),
            code="is_spray",
        )
    rotation = _rotation_of(pest, Step(step), planting, by)
    (course,) = put_on(rotation=rotation, plantings=[planting], first_day=day, by=by, today=today)
    return course


def _rotation_of(pest: Pest, step: Step, planting: Planting, by: Any) -> Rotation:
    """Return the rotation of this one step against a pest; it is made when it is first wanted."""
    # Named in English, the language of the catalogue, so that every reader finds the same one.
    with override("en"):
        name = f"{NAMES[step]}" % {"pest": pest.common_name}
    rotation, is_new = Rotation.objects.get_or_create(
        name=name,
        defaults={"pest": pest, "plant_group": planting.plant_group, "composed_by": by},
    )
    if is_new:
        rotation.weeks.create(week=1, step=step)
    return rotation
