"""How far a batch is: one line on standard error that is written over, on a terminal only."""

import sys
from collections.abc import Callable, Mapping
from time import monotonic
from typing import Any, TextIO

from .screen import width

ENDED = ("successful", "failed", "dismissed")
Json = Mapping[str, Any]


def done_count(batch: Json) -> int:
    """Variants that have ended."""
    counts = batch.get("item_counts", {})
    return sum(int(counts.get(name, 0)) for name in ENDED)


class Line:
    """The line, rate and remaining time measured from the first look at the batch."""

    def __init__(
        self, stream: TextIO | None = None, clock: Callable[[], float] = monotonic
    ) -> None:
        self._stream = sys.stderr if stream is None else stream
        self._clock = clock
        self._begun: tuple[float, int] | None = None
        self._shown = bool(getattr(self._stream, "isatty", lambda: False)())

    def show(self, batch: Json) -> None:
        """Write the line anew."""
        now, done = self._clock(), done_count(batch)
        if self._begun is None:
            self._begun = (now, done)
        if self._shown:
            text = line(batch, done - self._begun[1], now - self._begun[0], width() - 1)
            self._stream.write(f"\r{text:<{width() - 1}}")
            self._stream.flush()

    def end(self) -> None:
        """Leave the line as it is and go on below it."""
        if self._shown and self._begun is not None:
            self._stream.write("\n")
            self._stream.flush()


def line(batch: Json, since: int, seconds: float, room: int) -> str:
    """The line: a bar, how many, how fast, how long still.

    `since` variants ended in the `seconds` that were looked on.
    """
    counts = batch.get("item_counts", {})
    total, done = int(counts.get("total", 0)), done_count(batch)
    words = [f"{done:,} of {total:,}"]
    if counts.get("failed"):
        words.append(f"{counts['failed']:,} failed")
    if since > 0 and seconds > 0 and batch.get("status") not in ENDED:
        rate = since / seconds
        words += [f"{_rate(rate)}", f"{duration((total - done) / rate)} left"]
    elif batch.get("status") == "accepted":
        words.append("waiting")
    text = "  ".join(words)
    size = max(min(room - len(text) - 4, 40), 0)
    full = round(size * done / total) if total else 0
    return f"[{'#' * full}{'-' * (size - full)}]  {text}"[:room] if size >= 5 else text[:room]


def _rate(per_s: float) -> str:
    return f"{per_s:,.0f} a second" if per_s >= 10 else f"{per_s * 60:,.0f} a minute"


def duration(seconds: float) -> str:
    """A time as people say it.

    >>> duration(5.2), duration(150), duration(7320)
    ('6 s', '2 min 30 s', '2 h 2 min')
    """
    whole = max(int(-(-seconds // 1)), 0)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"
