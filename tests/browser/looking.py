"""Waiting for what a page shows; the page's policy lets no text be run as script by itself."""

import time
from typing import Any

PATIENCE_S = 60.0


def until(page: Any, script: str, arg: Any = None) -> None:
    """Wait until `script` is true in the page."""
    ends = time.monotonic() + PATIENCE_S
    while not page.evaluate(script, arg):
        assert time.monotonic() < ends, f"never true: {script}"
        page.wait_for_timeout(50)
