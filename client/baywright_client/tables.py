"""Tables as text for a terminal."""

import unicodedata
from collections.abc import Sequence

from .labels import is_number

GAP = "  "


def text_table(
    header: Sequence[str], rows: Sequence[Sequence[str]], *, width: int = 100
) -> list[str]:
    """Lines of a table: numbers to the right, long cells on several lines.

    Columns that do not fit in `width` even so are left out, the last first, and said to be.
    """
    columns = list(zip(header, *rows, strict=True))
    right = [all(not cell or is_number(cell) for cell in column[1:]) for column in columns]
    least = [_least(column, numbers) for column, numbers in zip(columns, right, strict=True)]
    kept = len(columns)
    while kept > 1 and sum(least[:kept]) + len(GAP) * (kept - 1) > width:
        kept -= 1
    widths = [_most(column, numbers) for column, numbers in zip(columns, right, strict=True)][:kept]
    _narrow(widths, least, width - len(GAP) * (kept - 1))
    lines = [
        *_lines(header[:kept], widths, right),
        GAP.join("-" * size for size in widths),
        *(line for row in rows for line in _lines(row[:kept], widths, right)),
    ]
    left_out = [name for name in header[kept:] if name]
    return lines if not left_out else [*lines, *_wrapped(_left_out(left_out), width)]


def _left_out(names: Sequence[str]) -> str:
    return f"… a wider window or --output DIR shows also: {', '.join(names)}"


def _least(column: Sequence[str], numbers: bool) -> int:
    """How narrow a column may become: numbers stay whole, words are cut at 24."""
    word = max((columns_of(word) for word in column[0].split()), default=1)
    cells = max((columns_of(cell) for cell in column[1:]), default=0)
    longest = max((columns_of(w) for cell in column[1:] for w in cell.split()), default=0)
    return max(word, cells) if numbers else max(min(word, 14), min(longest, 24), min(cells, 10))


def _most(column: Sequence[str], numbers: bool) -> int:
    """How wide a column would like to be."""
    return _least(column, numbers) if numbers else max(map(columns_of, column))


def columns_of(text: str) -> int:
    """How many columns of a terminal `text` takes."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def cut(text: str, size: int) -> str:
    """`text` in `size` columns, … at its end where something was left out."""
    if columns_of(text) <= size:
        return text
    while text and columns_of(text) > size - 1:
        text = text[:-1]
    return text + "…"


def _narrow(widths: list[int], least: Sequence[int], room: int) -> None:
    """Take from the widest columns until they fit."""
    while sum(widths) > room:
        able = [k for k, size in enumerate(widths) if size > least[k]]
        if not able:
            return
        widths[max(able, key=lambda k: widths[k])] -= 1


def _lines(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> list[str]:
    cells = [_wrapped(cell, size) for cell, size in zip(row, widths, strict=True)]
    height = max(map(len, cells), default=1)
    lines = []
    for k in range(height):
        parts = [
            _set(cell[k] if k < len(cell) else "", size, to_the_right)
            for cell, size, to_the_right in zip(cells, widths, right, strict=False)
        ]
        lines.append(GAP.join(parts).rstrip())
    return lines


def _set(text: str, size: int, to_the_right: bool) -> str:
    text = cut(text, size)
    blank = " " * (size - columns_of(text))
    return blank + text if to_the_right else text + blank


def _wrapped(text: str, size: int) -> list[str]:
    """`text` on lines of `size` columns, broken between words."""
    lines = [""]
    for word in text.split():
        joined = f"{lines[-1]} {word}" if lines[-1] else word
        if lines[-1] and columns_of(joined) > size:
            lines.append(word)
        else:
            lines[-1] = joined
    return lines
