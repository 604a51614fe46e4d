"""States by their names."""

from django import template

from clients.lying import state_named

register = template.Library()
register.filter("state", state_named)
