"""What the page on the spot asks of findings."""

from django import template

from treatments.rules.findings import refuses

register = template.Library()


@register.filter
def stops(findings):
    """Say whether any of the findings stops the work."""
    return refuses(list(findings))
