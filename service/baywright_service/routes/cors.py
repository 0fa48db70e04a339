"""Pages of other sites that may ask this service: those the operator lists, none by default.

They may read and run calculations; storing and deleting stay with pages of the service itself.
"""

from flask import Flask, Response, request

from ..host import host

METHODS = ("GET", "HEAD", "POST")
_HEADERS = "Authorization, Content-Type, Idempotency-Key, If-None-Match, Last-Event-ID, Prefer"
_SHOWN = "ETag, Link, Location, Preference-Applied, Request-Id, Retry-After, Server-Timing"
_KEPT_S = "600"


def is_allowed() -> bool:
    """Whether this request comes from a page on the list, with a method such pages may use."""
    asked = request.method
    if asked == "OPTIONS":
        asked = request.headers.get("Access-Control-Request-Method", asked)
    return _listed() and asked in METHODS


def register(app: Flask) -> None:
    """Say to browsers which pages may read the answers of `app`."""
    if not app.extensions["baywright"].settings.allowed_origins:
        return

    @app.after_request
    def tell(response: Response) -> Response:
        response.vary.add("Origin")
        if _listed():
            headers = response.headers
            headers["Access-Control-Allow-Origin"] = request.headers["Origin"]
            headers["Access-Control-Expose-Headers"] = _SHOWN
            if request.method == "OPTIONS":
                headers["Access-Control-Allow-Methods"] = ", ".join(METHODS)
                headers["Access-Control-Allow-Headers"] = _HEADERS
                headers["Access-Control-Max-Age"] = _KEPT_S
        return response


def _listed() -> bool:
    origin = request.headers.get("Origin")
    return origin is not None and origin.lower() in host().settings.allowed_origins
