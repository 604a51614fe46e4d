"""The head of a column by which a list is sorted."""

from django import template

from clients.sorting import Order

register = template.Library()


@register.inclusion_tag("parts/_sorted_head.html", takes_context=True)
def sorted_head(context, name: str, words: str, kind: str = "", at: str = "") -> dict:
    """Show the head of a column as a link that sorts by it, or turns the order round.

    kind: "number" where the column holds figures
    at: the id of the list, where it is not the only one of its page
    """
    order: Order = context["order"]
    return {
        "request": context["request"],
        "head": order.head(name),
        "words": words,
        "kind": kind,
        "at": at,
    }
