"""What of the field waits for the office."""

from django import template

from services.models import FieldEvent

register = template.Library()


@register.simple_tag
def reports_to_look_at():
    """Return how many reports from phones wait for a decision."""
    return FieldEvent.objects.to_review().count()
