"""A drawing as SVG text for a page: no script, no style attribute, words for screen readers."""

from hashlib import sha256
from xml.dom.minidom import Element, Text

from reportlab.graphics import renderSVG
from reportlab.graphics.renderSVG import SVGCanvas
from reportlab.lib.colors import Color

from services.sheets.charts.pen import NAMED, Figure

FAMILY = "'Source Sans 3', 'Segoe UI', sans-serif"


def _written(colour: Color) -> str:
    """Return a colour as the renderer writes it."""
    red, green, blue = (int(part * 100) for part in colour.rgb())
    return f"rgb({red}%,{green}%,{blue}%)"


# A page gives its own value to the name, so that a drawing turns with the dark paper.
PAGE_COLOURS = {
    _written(colour): f"var(--{name}, #{colour.hexval()[2:]})" for name, colour in NAMED.items()
}


def _declarations(style: str) -> list[tuple[str, str]]:
    pairs = (part.split(":", 1) for part in style.split(";") if ":" in part)
    return [(name.strip(), value.strip()) for name, value in pairs]


def _set_presentation(element: Element) -> None:
    """Move the declarations of a style attribute to attributes of their own."""
    for name, value in _declarations(element.getAttribute("style")):
        if name == "font-family":
            _set_face(element, value)
        else:
            element.setAttribute(name, PAGE_COLOURS.get(value, value))
    element.removeAttribute("style")


def _set_face(element: Element, face: str) -> None:
    element.setAttribute("font-family", FAMILY)
    if "SemiBold" in face:
        element.setAttribute("font-weight", "600")
    if "Italic" in face:
        element.setAttribute("font-style", "italic")


def _elements(element: Element) -> list[Element]:
    return [element, *element.getElementsByTagName("*")]


def _make_ids_unique(root: Element, key: str) -> None:
    """Give every id, and every reference to one, a beginning of this drawing's own."""
    for element in _elements(root):
        if element.hasAttribute("id"):
            element.setAttribute("id", f"{key}-{element.getAttribute('id')}")
        if element.hasAttribute("clip-path"):
            element.setAttribute("clip-path", f"url(#{key}-clip)")


def _tell(root: Element, figure: Figure) -> None:
    """Put title and description where a screen reader looks for them."""
    for tag, text in (("title", figure.title), ("desc", figure.description)):
        element = root.getElementsByTagName(tag)[0]
        for node in element.childNodes:
            if isinstance(node, Text):
                node.data = text
        element.setAttribute("id", tag)
    root.setAttribute("role", "img")
    root.setAttribute("class", "figure")
    root.setAttribute("viewBox", f"0 0 {figure.drawing.width:g} {figure.drawing.height:g}")


def _point_at_words(root: Element, key: str) -> None:
    root.setAttribute("aria-labelledby", f"{key}-title")
    root.setAttribute("aria-describedby", f"{key}-desc")


def as_svg(figure: Figure, key: str = "", *, fills: bool = False) -> str:
    """Return a figure as an SVG element that can stand within a page.

    key: how the ids within begin; when empty, a name made from what is drawn
    fills: as large as its window, which a drawing by itself is never wider than
    """
    canvas = SVGCanvas((figure.drawing.width, figure.drawing.height))
    renderSVG.draw(figure.drawing, canvas, 0, 0)
    root = canvas.svg
    _tell(root, figure)
    if fills:
        root.setAttribute("width", "100%")
        root.setAttribute("height", "100%")
    for element in _elements(root):
        if element.hasAttribute("style"):
            _set_presentation(element)
    key = key or "f" + sha256(root.toxml().encode()).hexdigest()[:10]
    _make_ids_unique(root, key)
    _point_at_words(root, key)
    return root.toxml()
