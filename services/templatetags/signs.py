"""Which signs a page offers to print."""

from django import template

from services.printing.posting_signs import smaller_signs

register = template.Library()
register.filter("smaller_signs", smaller_signs)
