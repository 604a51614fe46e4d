"""What a person reaches through the crew: properties, gate codes, courses to schedule."""

from clients.access import OFFICE, has_role
from services.models import Visit
from services.models.crews import ONE_DAY, day_of_crew


def properties_of_technician(user):
    """Return where a technician works today or tomorrow by the yard's day, as ids of properties."""
    today = day_of_crew(user)
    if today is None:
        return Visit.objects.none().values("course__property")
    return _visits_of_crew(user, today, today + ONE_DAY).values("course__property")


def properties_entered_today(user):
    """Return where the person's crew goes today by the yard's day, as ids of properties."""
    today = day_of_crew(user)
    if today is None:
        return []
    return _visits_of_crew(user, today, today).values_list("course__property", flat=True)


def _visits_of_crew(user, first, last):
    crew = user.technician.crew
    return Visit.objects.filter(dispatch__crew=crew, dispatch__day__range=(first, last))


def may_schedule(user, course) -> bool:
    """Say whether a person may move and end a course: the office any, an applicator the own."""
    if has_role(user, OFFICE) or course.started_by_id == user.pk:
        return True
    return course.visits.filter(dispatch__crew__technicians__user=user).exists()
