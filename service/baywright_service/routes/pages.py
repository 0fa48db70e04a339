"""The few pages for people."""

from html import escape

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


def page(title: str, body: str) -> bytes:
    """A plain page; `body` is HTML."""
    name = "Baywright" if title == "Baywright" else f"{escape(title)} - Baywright"
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>{name}</title><link rel="stylesheet" href="/page.css"></head>'
        f"<body><main><h1>{escape(title)}</h1>{body}</main></body></html>\n"
    ).encode()
