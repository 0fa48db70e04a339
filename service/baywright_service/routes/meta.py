"""/, /v1, the API document, and whether the service is well."""

from html import escape

from flask import Blueprint, Response, request

from .. import openapi
from ..host import API_VERSION, host, limits
from ..problems import NotAcceptable
from ..representations import CSS, HTML, MEDIA_TYPES, YAML, choose, respond, respond_json
from .pages import STYLE, page

routes = Blueprint("meta", __name__)

CONFORMS_TO = (
    "https://www.rfc-editor.org/rfc/rfc9110",
    "https://www.rfc-editor.org/rfc/rfc9457",
    "https://spec.openapis.org/oas/v3.1.0",
    "https://json-schema.org/draft/2020-12/schema",
)


@routes.get("/")
def home() -> Response:
    """A plain page that links to everything."""
    if choose(request.headers.get("Accept", ""), [HTML]) is None:
        available = [MEDIA_TYPES[HTML]]
        raise NotAcceptable("This page can be had as text/html.", members={"available": available})
    calculators = "".join(
        f'<li><a href="/v1/calculators/{each.name}">{escape(each.title)}</a>: '
        f"{escape(each.summary)}</li>"
        for each in host().registry.calculators.values()
    )
    return respond(page("Baywright", _HOME.format(calculators=calculators)), HTML)


@routes.get("/page.css")
def style() -> Response:
    """How the pages for people look."""
    return respond(STYLE, CSS)


@routes.get("/v1")
def start() -> Response:
    """Links, versions, limits."""
    return respond_json(
        {
            "service": "baywright",
            "version": openapi.service_version(),
            "api_version": API_VERSION,
            "links": [{"rel": rel, "href": href} for rel, href in _LINKS],
            "limits": limits(host().settings),
            "conforms_to": list(CONFORMS_TO),
        }
    )


@routes.get("/v1/openapi.json")
def openapi_json() -> Response:
    """The API of the calculators loaded now."""
    return respond_json(openapi.document(host().registry))


@routes.get("/v1/openapi.yaml")
def openapi_yaml() -> Response:
    """The same as YAML."""
    return respond(openapi.yaml_text(host().registry).encode(), YAML)


@routes.get("/healthz")
def health() -> Response:
    """The process answers."""
    return respond_json({"status": "ok"})


@routes.get("/readyz")
def ready() -> Response:
    """The store of documents can be reached too."""
    host().documents.check()
    return respond_json({"status": "ready"})


_LINKS = (
    ("self", "/v1"),
    ("service-desc", "/v1/openapi.json"),
    ("service-desc", "/v1/openapi.yaml"),
    ("calculators", "/v1/calculators"),
    ("run-plan", "/v1/plans/run"),
    ("kits", "/v1/kits"),
    ("stocks", "/v1/stocks"),
    ("plans", "/v1/plans"),
    ("problems", "/v1/problems"),
    ("health", "/healthz"),
    ("ready", "/readyz"),
)

_HOME = """
<p>Calculators for builders of big rolling-ball machines from rods and snap-in hubs.
Planning aid, not a safety certificate.</p>
<p><a href="#demo">Demo</a>, <a href="/v1/openapi.json">description of the API</a>, calculators:</p>
<ul>{calculators}</ul>
<h2>Start here</h2><ul>
<li id="demo">The demo: a whole machine as planned and as changed, with a report of drawings and
tables. Run <code>baywright demo</code>; its plan files are a start for your own, sent to
<a href="/v1">/v1/plans/run</a> or run with <code>baywright plan FILE</code></li>
<li><a href="/v1/openapi.json">Description of the API</a> (OpenAPI 3.1;
<a href="/v1/openapi.yaml">YAML</a>)</li>
<li><a href="/v1">Everything the service offers</a></li>
<li><a href="/v1/kits">Kits</a>, <a href="/v1/stocks">stocks</a> and
<a href="/v1/plans">plans</a> stored here</li>
<li><a href="/v1/problems">What error answers mean</a></li></ul>
"""
