"""Marks of a laid floor as rows: what lies where, from the front plane."""

from collections.abc import Iterator, Mapping
from typing import Any

from baywright_service.contract import TableData

_COLUMNS = ("direction", "what", "from_mm", "to_mm", "width_mm", "note")
_PIECES = {
    "whole": "whole panel",
    "cut": "cut piece",
    "whole-off": "whole panel that comes off",
    "cut-off": "cut piece that comes off",
}
_BEARERS = {
    "frame": "bearer of the frame",
    "add-at-node": "bearer to add between hubs",
    "add-between": "bearer to add off the hubs",
}


def marks(record: Mapping[str, Any]) -> TableData:
    """Sections, pieces, bearers and separation joints of both directions. `record`: LaidOut."""
    rows = [row for way in ("along", "across") for row in _rows(way, record[way])]
    return TableData(_COLUMNS, rows)


def _rows(way: str, direction: Mapping[str, Any]) -> Iterator[list[Any]]:
    for stretch in direction["stretches"]:
        yield _row(way, "section", stretch["start_mm"], stretch["end_mm"], stretch["id"])
    pieces = direction["pieces"]
    for start, end, kind, edges in zip(
        *(pieces[key] for key in ("start_mm", "end_mm", "kind", "edges_on_bearers_count")),
        strict=True,
    ):
        note = f"{edges} of 2 edges on a bearer that lies there"
        yield _row(way, _PIECES[kind], start, end, note)
    bearers = direction["bearers"]
    for at, kind in zip(bearers["at_mm"], bearers["kind"], strict=True):
        yield _row(way, _BEARERS[kind], at, at, "")
    for joint in direction["joints"]:
        note = " and ".join(joint["between"])
        if joint["comes_apart"]:
            note += f", parts at {joint['parts_at_mm']:g} mm"
        yield _row(way, "separation joint", joint["start_mm"], joint["end_mm"], note)


def _row(way: str, what: str, start: float, end: float, note: str) -> list[Any]:
    return [way, what, start, end, round(end - start, 9), note]
