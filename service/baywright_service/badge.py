"""A verdict as a strip small enough for anybody's page: a shape, the word, how many findings."""

from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import escape

HEIGHT = 22
#: Ground and ink of each verdict; contrast of white on each is above 4.5 to 1.
GROUNDS = {"ok": "#1b6e3c", "watch": "#8a5a00", "stop": "#a3212b"}
#: A circle with a tick, a triangle, an octagon: to be told apart without colour.
SHAPES = {
    "ok": '<circle cx="11" cy="11" r="6.5" fill="#fff"/>'
    '<path d="M8 11.2l2.2 2.3 4-4.6" fill="none" stroke="#1b6e3c" stroke-width="1.8"/>',
    "watch": '<path d="M11 4l7.5 13.5h-15z" fill="#fff"/>'
    '<path d="M11 8.5v5M11 14.6v1.6" stroke="#8a5a00" stroke-width="1.8"/>',
    "stop": '<path d="M8.3 4.5h5.4l3.8 3.8v5.4l-3.8 3.8H8.3l-3.8-3.8V8.3z" fill="#fff"/>'
    '<path d="M8 11h6" stroke="#a3212b" stroke-width="2"/>',
}
LONGEST_NAME = 40


def badge_svg(name: str, summary: Mapping[str, Any]) -> bytes:
    """The strip for a summary; `name` is what it is about, shortened to 40 characters."""
    verdict = str(summary["verdict"])
    shown = name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1].rstrip()}…"
    count = 0 if verdict == "ok" else summary[f"{verdict}_count"]
    said = verdict + (f": {count} finding{'s' if count != 1 else ''}" if count else "")
    left, right = _width(shown), _width(said) + 14
    whole = left + right + 12
    title = escape(f"{name}: {said}")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="badge-title" '
        f'width="{whole}" height="{HEIGHT}" viewBox="0 0 {whole} {HEIGHT}">'
        f'<title id="badge-title">{title}</title>'
        f'<rect width="{whole}" height="{HEIGHT}" rx="4" fill="#26323d"/>'
        f'<path d="M{left} 0h{whole - left - 4}a4 4 0 0 1 4 4v{HEIGHT - 8}a4 4 0 0 1-4 4H{left}z" '
        f'fill="{GROUNDS[verdict]}"/>'
        f'<g font-family="system-ui, sans-serif" font-size="12" fill="#fff">'
        f'<text x="8" y="15" textLength="{left - 16}" lengthAdjust="spacingAndGlyphs">'
        f"{escape(shown)}</text>"
        f'<text x="{left + 22}" y="15" textLength="{right - 18}" lengthAdjust="spacingAndGlyphs" '
        f'font-weight="600">{escape(said)}</text></g>'
        f'<g transform="translate({left})">{SHAPES[verdict]}</g></svg>\n'
    ).encode()


def _width(text: str) -> int:
    """Room for `text` at 12 pixels with margins; the text is then fitted to it exactly."""
    return round(6.6 * len(text)) + 16
