"""Parts of a page that are alike in many of its rows."""

from django import template

register = template.Library()


@register.simple_tag(takes_context=True)
def alike(context, part, **values):
    """Return a part of the page, rendered once for all places where it is given the same.

    values: what the part takes, each hashable; nothing else of the page is in it
    """
    rendered = context.render_context.setdefault(part, {})
    key = tuple(values.values())
    if key not in rendered:
        rendered[key] = context.template.engine.get_template(part).render(context.new(values))
    return rendered[key]
