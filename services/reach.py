"""What a technician may reach: the properties of the crew's dispatches of today and tomorrow."""

from datetime import timedelta

from django.utils import timezone

from services.models import Visit


def properties_of_technician(user):
    """Return the ids of the properties a technician works at today or tomorrow, by the yard's day."""
    technician = getattr(user, "technician", None)
    if technician is None or technician.crew is None:
        return Visit.objects.none().values("course__property")
    today = timezone.now().astimezone(technician.crew.yard.zone()).date()
    return Visit.objects.filter(
        dispatch__crew=technician.crew, dispatch__day__range=(today, today + timedelta(days=1))
    ).values("course__property")
