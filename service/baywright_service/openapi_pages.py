"""In the API document: the dashboard, its files, and signing in from a browser."""

from collections.abc import Iterator

from .openapi_shapes import (
    TEXT,
    Json,
    json_content,
    object_of,
    path_parameter,
    problem_responses,
    reads,
)

#: Media types of the dashboard's files.
FILES = (
    "text/html",
    "text/css",
    "text/javascript",
    "text/plain",
    "image/svg+xml",
    "application/json",
)


def page_paths() -> Iterator[tuple[str, Json]]:
    """What people look at."""
    html: Json = {"content": {"text/html": {"schema": TEXT}}}
    css: Json = {"content": {"text/css": {"schema": TEXT}}}
    kinds: Json = {"content": {kind: {"schema": {}} for kind in FILES}}
    yield "/", {"get": reads("home", "The dashboard", html)}
    yield "/page.css", {"get": reads("style", "How the plain pages look", css)}
    yield (
        "/dashboard/{name}",
        {
            "parameters": [path_parameter("name", TEXT)],
            "get": reads("dashboard-file", "A file of the dashboard", kinds, 404),
        },
    )
    yield (
        "/dashboard/vendor/{name}",
        {
            "parameters": [path_parameter("name", TEXT)],
            "get": reads("vendor-file", "A file of others that the dashboard ships", kinds, 404),
        },
    )
    yield "/dashboard/session", _session()


def _session() -> Json:
    flag: Json = {"type": "boolean"}
    state = json_content(object_of({"token_needed": flag, "signed_in": flag}))
    about = "An HttpOnly cookie for pages of the service; programs send the token itself."
    return {
        "get": reads("session", "Whether a token is needed, and was given", state),
        "post": {
            "operationId": "sign-in",
            "summary": "Trade the token for a cookie",
            "description": about,
            "responses": {"204": {"description": "Signed in."}, **problem_responses(403)},
        },
        "delete": {
            "operationId": "sign-out",
            "summary": "Forget the cookie",
            "responses": {"204": {"description": "Signed out."}, **problem_responses(403)},
        },
    }
