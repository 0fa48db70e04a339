"""What every request passes before its route, and every answer after it."""

import ipaddress
import uuid
from urllib.parse import urlsplit

from flask import Flask, Response, g, request

from ..host import host
from ..network import is_loopback, own_names
from ..problems import (
    CrossSite,
    HeadersTooLarge,
    Unauthenticated,
    UriTooLong,
    WrongHost,
)
from ..representations import PAGE_POLICY
from . import cors, session
from .reading import check_query

READING = ("GET", "HEAD", "OPTIONS")


def register(app: Flask) -> None:
    """Put the gate before every route of `app`, unknown addresses included."""
    names = own_names(app.extensions["baywright"].settings)

    @app.before_request
    def enter() -> None:
        g.request_id = str(uuid.uuid4())
        _check_size()
        _check_host(names)
        _check_token()
        _check_site()
        if request.routing_exception is None:
            check_query()

    @app.after_request
    def leave(response: Response) -> Response:
        headers = response.headers
        headers["Request-Id"] = g.get("request_id") or str(uuid.uuid4())
        headers["X-Content-Type-Options"] = "nosniff"
        headers["Referrer-Policy"] = "no-referrer"
        headers.setdefault("Content-Security-Policy", PAGE_POLICY)
        headers.setdefault("Cache-Control", "no-store")
        return response


def _check_size() -> None:
    settings = host().settings
    query = request.query_string
    if len(request.path.encode()) + len(query) > settings.uri_limit_bytes:
        raise UriTooLong(f"Path and query may have {settings.uri_limit_bytes} bytes.")
    if sum(len(k) + len(v) + 4 for k, v in request.headers) > settings.header_limit_bytes:
        raise HeadersTooLarge(f"All headers may have {settings.header_limit_bytes} bytes.")


def _check_host(names: frozenset[str]) -> None:
    name = _host_name(request.environ.get("HTTP_HOST", ""))
    if name not in names and not _is_own_address(name):
        raise WrongHost("The Host header names no name of this service.")


def _host_name(header: str) -> str:
    """The name in a Host header, without the port; empty where there is none that can be read."""
    try:
        return (urlsplit(f"//{header}").hostname or "").lower()
    except ValueError:
        return ""


def _is_own_address(name: str) -> bool:
    """An address in numbers cannot be rebound by a foreign name server; trusted beyond loopback."""
    if is_loopback(host().settings.host):
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _check_token() -> None:
    token = host().settings.token
    preflight = request.method == "OPTIONS" and cors.is_allowed()  # browsers send it without
    if not token or preflight or request.endpoint in session.OPEN:
        return
    if not session.is_bearer(token) and not session.is_cookie(token):
        raise Unauthenticated(
            "Send the token of this service as Authorization: Bearer.",
            headers={"WWW-Authenticate": 'Bearer realm="baywright"'},
        )


def _check_site() -> None:
    if request.method in READING or cors.is_allowed():
        return
    origin, site = request.headers.get("Origin"), request.headers.get("Sec-Fetch-Site")
    own = f"{request.scheme}://{request.host}"
    if (origin is not None and origin.lower() != own.lower()) or site not in (
        None,
        "same-origin",
        "none",
    ):
        raise CrossSite("The request was sent by a page of another site.")
