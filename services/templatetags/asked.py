"""What clients ask and the office has not answered."""

from django import template

from services.models import DayAsked

register = template.Library()


@register.simple_tag
def days_to_answer():
    """Return how many clients wait to hear whether a visit moves."""
    return DayAsked.objects.open().count()
