"""The results of a batch on a terminal: how many came out how, and the first rows."""

import csv
import io
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from . import screen
from .labels import LEVELS, cell_text, name_and_unit
from .tables import text_table

#: Columns every table of a batch begins and ends with.
FIRST, LAST = ("index", "status", "verdict"), "problem"
MOST_ROWS = 20


def rows_of(content: bytes) -> tuple[list[str], list[list[str]]]:
    """Header and rows of a table as CSV."""
    rows = list(csv.reader(io.StringIO(content.decode("utf-8"), newline="")))
    return (rows[0], rows[1:]) if rows else ([], [])


def outcome_of(row: Sequence[str]) -> str:
    """ok, watch or stop; else the status of a variant that has no verdict."""
    return row[2] or row[1]


def show_batch(batch: Mapping[str, Any], content: bytes) -> None:
    """Title, counts, and the first rows; `content` is the table as CSV."""
    header, rows = rows_of(content)
    outcomes = Counter(map(outcome_of, rows))
    order = [*LEVELS, "failed", "dismissed"]
    total = int(batch.get("item_counts", {}).get("total", len(rows)))
    parts = [f"{outcomes[name]:,} {name}" for name in order if outcomes[name]]
    if total > len(rows):
        parts.append(f"{total - len(rows):,} not calculated yet")
    title = str(batch.get("title") or "Batch")
    noun = "variant" if total == 1 else "variants"
    screen.say(f"{screen.strong(title)}   {total:,} {noun}: {', '.join(parts)}")
    if rows:
        screen.say()
        _show_rows(header, rows)


def _show_rows(header: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    names = short_names(header[3:-1])
    with_problem = any(row[-1] for row in rows[:MOST_ROWS])
    shown = [
        [row[0], _badge(outcome_of(row)), *map(cell_text, row[3:-1]), *row[-1:][:with_problem]]
        for row in rows[:MOST_ROWS]
    ]
    head = ["", "", *names, *[LAST][:with_problem]]
    for text in text_table(head, shown, width=screen.width()):
        screen.say(text)
    if len(rows) > MOST_ROWS:
        screen.say(f"  … and {len(rows) - MOST_ROWS:,} more rows: --csv FILE writes them all.")


def _badge(outcome: str) -> str:
    return f"{screen.shape(outcome)} {outcome}" if outcome in LEVELS else outcome


def short_names(pointers: Sequence[str]) -> list[str]:
    """The end of each pointer in words, with its unit, and before it what tells equal ends apart.

    >>> short_names(["/steps/0/inputs/bays", "/steps/1/inputs/bays", "/kit/rods/0/pitch_mm"])
    ['steps 0 bays', 'steps 1 bays', 'pitch mm']
    """
    whole = [pointer.split("/")[1:] for pointer in pointers]
    tails = [_tail(parts) for parts in whole]
    names = []
    for parts, tail in zip(whole, tails, strict=True):
        like = [other for other, end in zip(whole, tails, strict=True) if end == tail]
        names.append(_words([*_apart(parts, like, len(parts) - len(tail)), *tail]))
    return names


def _tail(parts: Sequence[str]) -> list[str]:
    """The last part, with those before it that it means nothing without."""
    size = 1
    while size < len(parts) and (
        len(parts[-size]) <= 2 or parts[-size].isdecimal() or parts[-size] in FIRST
    ):
        size += 1
    return list(parts[-size:])


def _apart(parts: Sequence[str], like: Sequence[Sequence[str]], end: int) -> list[str]:
    """The parts before `end` in which `parts` is unlike others, each number with its list."""
    if len(like) == 1:
        return []
    if len({len(other) for other in like}) > 1:
        return list(parts[:end])
    unlike = [k for k in range(end) if len({other[k] for other in like}) > 1]
    return [word for k in unlike for word in parts[max(k - parts[k].isdecimal(), 0) : k + 1]]


def _words(parts: Sequence[str]) -> str:
    pairs = [name_and_unit(part) for part in parts]
    units = [unit for _, unit in pairs if unit]
    return " ".join([*(name for name, _ in pairs), *units[-1:]])
