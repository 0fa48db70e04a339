"""/v1, the API document, and whether the service is well."""

from flask import Blueprint, Response

from .. import openapi
from ..host import API_VERSION, host, limits
from ..representations import YAML, respond, respond_json

routes = Blueprint("meta", __name__)

CONFORMS_TO = (
    "https://www.rfc-editor.org/rfc/rfc9110",
    "https://www.rfc-editor.org/rfc/rfc9457",
    "https://spec.openapis.org/oas/v3.1.0",
    "https://json-schema.org/draft/2020-12/schema",
)


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
    ("batches", "/v1/batches"),
    ("problems", "/v1/problems"),
    ("health", "/healthz"),
    ("ready", "/readyz"),
)
