"""An SVG of the service inside a page: ids made unique, nothing in it that could act."""

import re
from xml.etree import ElementTree

SVG = "http://www.w3.org/2000/svg"

_ELEMENTS = (
    "svg g defs title desc path line polyline polygon rect circle ellipse text tspan pattern "
    "marker clipPath linearGradient radialGradient stop use symbol"
)
_ATTRIBUTES = (
    "id class role viewBox x y x1 y1 x2 y2 cx cy r rx ry d points width height transform fill "
    "stroke stroke-width stroke-dasharray stroke-linecap stroke-linejoin opacity fill-opacity "
    "stroke-opacity font-size font-family font-weight font-style text-anchor dominant-baseline "
    "patternUnits patternTransform patternContentUnits markerWidth markerHeight refX refY orient "
    "markerUnits clip-path clip-rule fill-rule offset stop-color stop-opacity gradientUnits "
    "gradientTransform marker-start marker-mid marker-end preserveAspectRatio href "
    "aria-labelledby aria-describedby aria-hidden letter-spacing dx dy vector-effect"
)
_KNOWN_ELEMENTS = frozenset(_ELEMENTS.split())
_KNOWN_ATTRIBUTES = frozenset(_ATTRIBUTES.split())
_LOCAL = re.compile(r"url\(#([^)]+)\)")


class NotADrawing(ValueError):
    """The bytes are no SVG that may stand in a page."""


def inline(svg: bytes, prefix: str) -> str:
    """The drawing as markup for a page, every id in it starting with `prefix`.

    What could run or fetch (scripts, styles, handlers, links elsewhere) is left out. Raises
    NotADrawing.
    """
    if re.search(rb"<!(?:DOCTYPE|ENTITY)", svg, re.IGNORECASE):
        raise NotADrawing("it declares entities")
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError as error:
        raise NotADrawing(str(error)) from error
    if root.tag != f"{{{SVG}}}svg":
        raise NotADrawing(f"its root is {root.tag}")
    _clean(root, prefix)
    root.tail = None
    ElementTree.register_namespace("", SVG)
    return ElementTree.tostring(root, encoding="unicode", short_empty_elements=True)


def proportion(svg: bytes) -> float:
    """Width over height of the drawing; 1 where it does not say."""
    match = re.search(rb'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"', svg)
    return float(match[1]) / max(float(match[2]), 1e-9) if match else 1.0


def _clean(element: ElementTree.Element, prefix: str) -> None:
    for name, value in list(element.attrib.items()):
        kept = _attribute(name, value, prefix)
        if kept is None:
            del element.attrib[name]
        else:
            element.set(name, kept)
    for child in list(element):
        namespace, _, tag = str(child.tag).rpartition("}")
        if namespace == f"{{{SVG}" and tag in _KNOWN_ELEMENTS:
            _clean(child, prefix)
        else:
            element.remove(child)


def _attribute(name: str, value: str, prefix: str) -> str | None:
    if name not in _KNOWN_ATTRIBUTES:
        return None
    if name == "id":
        return f"{prefix}-{value}"
    if name == "href":
        return f"#{prefix}-{value[1:]}" if value.startswith("#") else None
    if name.startswith("aria-") and name != "aria-hidden":
        return " ".join(f"{prefix}-{id}" for id in value.split())
    if "url(" in value:
        local = _LOCAL.sub(lambda match: f"url(#{prefix}-{match[1]})", value)
        return local if _LOCAL.sub("", local).find("url(") < 0 else None
    return value
