"""Tables as text for a terminal."""

import unicodedata
from collections.abc import Sequence

from .labels import is_number

GAP = "  "


def text_table(
    header: Sequence[str], rows: Sequence[Sequence[str]], *, width: int = 100
) -> list[str]:
    """Lines of a table: numbers to the right, cells cut with … where it is wider than `width`.

    A column whose every cell is a number or empty is set right.
    """
    columns = list(zip(header, *rows, strict=True)) if rows else [(name,) for name in header]
    widths = [max(map(columns_of, column)) for column in columns]
    _narrow(widths, width - len(GAP) * (len(widths) - 1))
    right = [all(not cell or is_number(cell) for cell in column[1:]) for column in columns]
    lines = [_line(row, widths, right) for row in [header, *rows]]
    return [lines[0], GAP.join("-" * size for size in widths), *lines[1:]]


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


def _narrow(widths: list[int], room: int) -> None:
    """Take from the widest columns until they fit; 6 columns are left to each."""
    while sum(widths) > room and max(widths) > 6:
        widest = widths.index(max(widths))
        widths[widest] -= 1


def _line(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    cells = []
    for cell, size, to_the_right in zip(row, widths, right, strict=True):
        text = cut(cell, size)
        blank = " " * (size - columns_of(text))
        cells.append(blank + text if to_the_right else text + blank)
    return GAP.join(cells).rstrip()
