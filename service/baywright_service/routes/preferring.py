"""What a request would prefer (RFC 7240): to wait, or not to wait."""

from flask import request

LONGEST_WAIT_S = 30.0


def preferences() -> dict[str, str]:
    """The preferences of the request, by name; of one that comes twice the first counts."""
    found: dict[str, str] = {}
    for part in ",".join(request.headers.getlist("Prefer")).split(","):
        name, _, value = part.partition(";")[0].partition("=")
        if name.strip():
            found.setdefault(name.strip().lower(), value.strip().strip('"'))
    return found


def prefers_async() -> bool:
    """Whether the answer shall be a promise: 202 with a batch of one."""
    return "respond-async" in preferences()


def preferred_wait_s() -> float:
    """How long the answer may wait for news, in seconds; a wish that cannot be read is none."""
    text = preferences().get("wait", "")
    if not (text.isascii() and text.isdecimal() and len(text) < 10):
        return 0.0
    return min(float(text), LONGEST_WAIT_S)
