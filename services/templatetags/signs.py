"""Which signs a page offers to print."""

from django import template

from services.printing.posting_signs import smaller_signs, why_no_sign

register = template.Library()
register.filter("smaller_signs", smaller_signs)
register.filter("why_no_sign", why_no_sign)
