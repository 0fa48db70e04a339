"""Which form an answer takes (Accept with q-values, or ?format=), and its headers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask import Response, request

from .contract import Calculator
from .envelope import ALL_VIEWS
from .json_writer import digest, json_bytes
from .problems import NotAcceptable, invalid_parameter
from .writers.pdf import PAPERS, SCALES, Page

JSON, SVG, CSV, HTML, YAML, CSS = "json", "svg", "csv", "html", "yaml", "css"
PDF, DXF = "pdf", "dxf"
SCENE = "scene"
NDJSON, EVENTS = "ndjson", "events"

#: What ?format= may name; a resource has some of them.
ASKED_FOR = (JSON, SVG, CSV, PDF, DXF, SCENE, HTML, NDJSON)

MEDIA_TYPES: Mapping[str, str] = {
    JSON: "application/json",
    SVG: "image/svg+xml",
    CSV: "text/csv; charset=utf-8; header=present",
    HTML: "text/html; charset=utf-8",
    YAML: "application/yaml",
    CSS: "text/css; charset=utf-8",
    PDF: "application/pdf",
    DXF: "image/vnd.dxf",
    SCENE: "application/vnd.baywright.scene+json",
    NDJSON: "application/x-ndjson",
    EVENTS: "text/event-stream",
}
PAGE_POLICY = "default-src 'self'; frame-ancestors 'none'"
SVG_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"


@dataclass(frozen=True)
class Range:
    """One media range of an Accept header."""

    type: str
    subtype: str
    quality: float

    def fits(self, media_type: str) -> bool:
        kind, _, below = media_type.partition(";")[0].partition("/")
        return self.type in ("*", kind) and self.subtype in ("*", below)

    @property
    def precision(self) -> int:
        return (self.type != "*") + (self.subtype != "*")


def accepted(header: str) -> list[Range]:
    """The media ranges of an Accept header; what cannot be read in it is passed over."""
    ranges = []
    for part in header.split(","):
        media, *parameters = (piece.strip() for piece in part.split(";"))
        kind, slash, below = media.lower().partition("/")
        if slash and kind and below:
            ranges.append(Range(kind, below, _quality(parameters)))
    return ranges


def _quality(parameters: Sequence[str]) -> float:
    for parameter in parameters:
        name, _, value = parameter.partition("=")
        if name.strip().lower() == "q":
            try:
                return min(max(float(value), 0.0), 1.0)
            except ValueError:
                return 0.0
    return 1.0


def choose(header: str, forms: Sequence[str]) -> str | None:
    """The best of `forms` for an Accept header: the first of those wanted most; None: none fits."""
    ranges = accepted(header) or [Range("*", "*", 1.0)]

    def wanted(form: str) -> float:
        fitting = [entry for entry in ranges if entry.fits(MEDIA_TYPES[form])]
        return max(fitting, key=lambda entry: entry.precision).quality if fitting else 0.0

    best = max(forms, key=wanted)
    return best if wanted(best) > 0.0 else None


def forms_of(calculator: Calculator) -> list[str]:
    """The forms a run of this calculator can answer in."""
    drawn, table = bool(calculator.views), calculator.tabular
    return [
        JSON,
        *([SVG] if drawn else []),
        *([CSV] if table else []),
        *([PDF, DXF] if drawn else []),
        *([SCENE] if calculator.spatial else []),
    ]


def chosen_form(forms: Sequence[str]) -> str:
    """The form this request asks for. Raises NotAcceptable."""
    named = request.args.get("format")
    if named is not None and named not in ASKED_FOR:
        raise invalid_parameter("format", f"Must be one of: {', '.join(forms)}.")
    form = named if named is not None else choose(request.headers.get("Accept", ""), forms)
    if form is None or form not in forms:
        available = [MEDIA_TYPES[form] for form in forms]
        detail = f"This resource can be had as {', '.join(available)}."
        raise NotAcceptable(detail, members={"available": available})
    return form


def chosen_view(calculator: Calculator, form: str = SVG) -> str:
    """The drawing this request asks for; the first one unless it says. Paper may have them all."""
    views = list(calculator.views)
    view = request.args.get("view")
    if view is None:
        return views[0] if views else ""
    if view not in views and not (views and form == PDF and view == ALL_VIEWS):
        known = ", ".join(views) or "none, since this calculator draws nothing"
        more = ", or all of them: all" if form == PDF else ""
        raise invalid_parameter("view", f"Must be one of the views: {known}{more}.")
    return view


def chosen_page(plan: str = "") -> Page:
    """The paper this request asks for, how drawings come on it, and the plan it is for."""
    return Page(_one_of("paper", tuple(PAPERS)), _one_of("scale", SCALES), plan)


def _one_of(name: str, known: Sequence[str]) -> str:
    """A parameter that is one of `known`; the first of them unless it says."""
    value = request.args.get(name, known[0])
    if value not in known:
        raise invalid_parameter(name, f"Must be one of: {', '.join(known)}.")
    return value


def respond(content: bytes, form: str, *, status: int = 200, etag: str = "") -> Response:
    """`content` as an answer with a strong ETag; 304 where the asker has it already."""
    response = Response(content, status, content_type=MEDIA_TYPES[form])
    response.set_etag(etag or digest(content))
    response.headers["Vary"] = "Accept, Accept-Encoding"
    policy = SVG_POLICY if form == SVG else PAGE_POLICY
    response.headers["Content-Security-Policy"] = policy
    if request.method in ("GET", "HEAD"):
        response.headers["Cache-Control"] = "no-cache"
        response.make_conditional(request)
    return response


def respond_json(value: object, *, status: int = 200, etag: str = "") -> Response:
    """`value` as JSON. The form must fit Accept. Raises NotAcceptable."""
    chosen_form([JSON])
    return respond(json_bytes(value), JSON, status=status, etag=etag)
