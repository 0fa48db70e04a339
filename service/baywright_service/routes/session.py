"""Signing in from a browser: the token is traded once for a cookie that no script can read.

The cookie holds no token, only a time and a keyed digest of it, so it is worth nothing once that
time has passed or the service has another token.
"""

import hmac
import time

from flask import Blueprint, Response, request

from ..host import host
from ..problems import CrossSite
from ..representations import respond_json

routes = Blueprint("session", __name__)

COOKIE = "baywright_session"
KEPT_S = 30 * 24 * 3600
#: What may be seen without a token: the page that asks for it.
OPEN = frozenset({"pages.home", "pages.file", "pages.style", "session.show"})


@routes.get("/dashboard/session")
def show() -> Response:
    """Whether a token is needed, and whether this browser has given it."""
    token = host().settings.token
    signed_in = not token or is_bearer(token) or is_cookie(token)
    return respond_json({"token_needed": bool(token), "signed_in": signed_in})


@routes.post("/dashboard/session")
def sign_in() -> Response:
    """The cookie for this browser; the gate has seen the token already."""
    response = Response(status=204)
    token = host().settings.token
    if token:
        response.set_cookie(
            COOKIE,
            _value(token, int(time.time()) + KEPT_S),
            max_age=KEPT_S,
            path="/",
            httponly=True,
            samesite="Strict",
            secure=request.is_secure,
        )
    return response


@routes.delete("/dashboard/session")
def sign_out() -> Response:
    """The cookie is forgotten."""
    response = Response(status=204)
    response.delete_cookie(COOKIE, path="/", httponly=True, samesite="Strict")
    return response


def is_bearer(token: str) -> bool:
    """Whether the request carries the token itself."""
    scheme, _, given = request.headers.get("Authorization", "").partition(" ")
    return scheme.lower() == "bearer" and hmac.compare_digest(
        given.strip().encode(), token.encode()
    )


def is_cookie(token: str) -> bool:
    """Whether the request carries a cookie that was given for the token and still holds.

    Raises CrossSite for a write that does not say which page sent it: browsers always do.
    """
    ends_at, _, _ = request.cookies.get(COOKIE, "").partition(".")
    if not (ends_at.isascii() and ends_at.isdecimal() and len(ends_at) < 12):
        return False
    given = request.cookies[COOKIE].encode()
    if int(ends_at) < time.time() or not hmac.compare_digest(
        given, _value(token, int(ends_at)).encode()
    ):
        return False
    said = request.headers.get("Origin") or request.headers.get("Sec-Fetch-Site")
    if request.method not in ("GET", "HEAD", "OPTIONS") and not said:
        raise CrossSite("A write with the cookie must say which page sends it (Origin).")
    return True


def _value(token: str, ends_at: int) -> str:
    keyed = hmac.new(token.encode(), f"dashboard session until {ends_at}".encode(), "sha256")
    return f"{ends_at}.{keyed.hexdigest()}"
