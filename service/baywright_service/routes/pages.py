"""The few pages for people."""

from html import escape


def page(title: str, body: str) -> bytes:
    """A plain page; `body` is HTML."""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)} - Baywright</title></head>"
        f"<body><main><h1>{escape(title)}</h1>{body}</main></body></html>\n"
    ).encode()
