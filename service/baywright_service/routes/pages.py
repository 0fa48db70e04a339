"""What people look at: the dashboard with its files, and the look of the plain pages.

The dashboard is plain HTML, CSS and ES modules in the folder `dashboard`, served as they lie there.
It knows no more than any other program: everything it shows comes from the API.
"""

import re
from html import escape
from importlib.resources import files
from importlib.resources.abc import Traversable

from flask import Blueprint, Response, request

from ..json_writer import json_bytes
from ..problems import NotAcceptable, NotFound
from ..representations import CSS, HTML, JSON, MEDIA_TYPES, choose, respond

routes = Blueprint("pages", __name__)

#: Drawings come as blobs; nothing comes from another host, and no script stands in the page.
DASHBOARD_POLICY = (
    "default-src 'self'; frame-ancestors 'none'; img-src 'self' blob: data:; "
    "object-src 'none'; base-uri 'none'; form-action 'none'"
)
#: Media type of each kind of file that may lie in the folder.
KINDS = {
    "html": MEDIA_TYPES[HTML],
    "css": MEDIA_TYPES[CSS],
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
    "txt": "text/plain; charset=utf-8",
}
_NAME = re.compile(r"[a-z0-9][a-z0-9.-]{0,62}\.(html|css|js|svg|txt)")
FOLDER = files(__package__.rpartition(".")[0]).joinpath("dashboard")

STYLE = b"""\
:root { color-scheme: light dark; }
body { margin: 0; font: 1rem/1.5 system-ui, sans-serif; }
main { max-width: 44rem; margin: 0 auto; padding: 1rem 1.25rem 3rem; }
h1 { font-size: 1.7rem; margin: 1rem 0 .25rem; }
h2 { font-size: 1.15rem; margin: 2rem 0 .5rem; }
ul { padding-left: 1.2rem; }
li { margin: .5rem 0; }
code { padding: .1rem .35rem; border: 1px solid; border-radius: .25rem; }
a { text-underline-offset: .15em; }
"""


@routes.get("/")
def home() -> Response:
    """The dashboard."""
    if choose(request.headers.get("Accept", ""), [HTML]) is None:
        available = [MEDIA_TYPES[HTML]]
        raise NotAcceptable("This page can be had as text/html.", members={"available": available})
    return _file("index.html")


@routes.get("/dashboard/<name>")
def file(name: str) -> Response:
    """A file of the dashboard; `files.json` lists them."""
    if name == "files.json":
        return respond(json_bytes({"files": file_names()}), JSON)
    return _file(name)


@routes.get("/dashboard/vendor/<name>")
def vendor_file(name: str) -> Response:
    """A file of others that the dashboard ships, as it was published."""
    return _file(name, FOLDER.joinpath("vendor"))


@routes.get("/page.css")
def style() -> Response:
    """How the plain pages look."""
    return respond(STYLE, CSS)


def file_names() -> list[str]:
    """What the folder holds: a page can ask for what may be there without a miss."""
    return sorted(entry.name for entry in FOLDER.iterdir() if _NAME.fullmatch(entry.name))


def _file(name: str, folder: Traversable = FOLDER) -> Response:
    match = _NAME.fullmatch(name)
    found = folder.joinpath(name) if match else None
    if match is None or found is None or not found.is_file():
        raise NotFound("The dashboard has no such file.")
    response = respond(found.read_bytes(), HTML)
    response.content_type = KINDS[match[1]]
    response.headers["Content-Security-Policy"] = DASHBOARD_POLICY
    return response


def page(title: str, body: str) -> bytes:
    """A plain page; `body` is HTML."""
    name = "Baywright" if title == "Baywright" else f"{escape(title)} - Baywright"
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>{name}</title><link rel="stylesheet" href="/page.css"></head>'
        f"<body><main><h1>{escape(title)}</h1>{body}</main></body></html>\n"
    ).encode()
