"""Edges, corners and pieces by size of a laid floor."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from .answer_lay import LaidFloor
from .rim import EdgeGap, corner_gap, edge_gap, edge_piece
from .sheet import Piece

_CORNERS = (("front", "near"), ("front", "far"), ("back", "near"), ("back", "far"))


def edge_records(
    floor: LaidFloor, edges: Sequence[Mapping[str, Any]], ball_mm: float | None
) -> list[dict[str, Any]]:
    """The fields of EdgeOut for every side, front, back, near, far."""
    given = {edge["side"]: edge for edge in edges}
    records = []
    for side, piece in _last_pieces(floor).items():
        edge = given.get(side, {})
        overhang = edge.get("overhang_mm", 0.0)
        held = edge_piece(float(piece.width), overhang)
        found: dict[str, Any] = {
            "side": side,
            "piece_mm": held.width_mm,
            "piece": "cut" if piece.cut else "whole",
            "overhang_mm": overhang,
            "rests": held.rests,
            "stays_down": held.stays_down,
            "ball": "open",
        }
        if "wall_mm" in edge:
            found["gap_mm"] = edge["wall_mm"] - overhang
            if ball_mm is not None:
                found |= _gap(edge_gap(ball_mm, found["gap_mm"]))
        records.append(found)
    return records


def corner_records(
    floor: LaidFloor, edges: Sequence[Mapping[str, Any]], ball_mm: float | None
) -> list[dict[str, Any]]:
    """The fields of CornerOut; `edges` are records of `edge_records`."""
    by_side = {edge["side"]: edge for edge in edges}
    pieces = _last_pieces(floor)
    records = []
    for a, b in _CORNERS:
        found: dict[str, Any] = {
            "sides": [a, b],
            "along_mm": float(pieces[a].width),
            "across_mm": float(pieces[b].width),
            "ball": "open",
        }
        gaps = [by_side[side].get("gap_mm") for side in (a, b)]
        if ball_mm is not None and gaps[0] is not None and gaps[1] is not None:
            found |= _gap(corner_gap(ball_mm, gaps[0], gaps[1]))
        records.append(found)
    return records


def _gap(gap: EdgeGap) -> dict[str, Any]:
    if gap.kind in ("closed", "sinks"):
        return {"ball": gap.kind, "sink_mm": gap.sink_mm, "leave_percent": gap.slope_percent}
    return {"ball": gap.kind}


def _last_pieces(floor: LaidFloor) -> dict[str, Piece]:
    along, across = floor.along.chosen.sheet.pieces, floor.across.chosen.sheet.pieces
    return {"front": along[0], "back": along[-1], "near": across[0], "far": across[-1]}


def size_records(floor: LaidFloor, *, panel: str, strip: str | None) -> list[dict[str, Any]]:
    """The fields of SizeOut: pieces of every size, and the panels that cut ones come from.

    Pieces of one size are cut from panels side by side; what is left of a panel serves no other
    size.
    """
    whole = floor.along.laying.panel, floor.across.laying.panel
    counts: Counter[tuple[bool, Fraction, Fraction, bool]] = Counter()
    for a, m in _by_size(floor.along.chosen.sheet.pieces).items():
        for b, n in _by_size(floor.across.chosen.sheet.pieces).items():
            counts[a[1] or b[1], a[0], b[0], a[2] or b[2]] += m * n
    records, cut_from = [], Counter[tuple[Fraction, Fraction]]()
    for (cut, along, across, off), count in sorted(
        counts.items(), key=lambda row: (row[0][0], row[0][3], -row[0][1], -row[0][2])
    ):
        item = (strip or f"{panel}-cut") if cut else panel
        use = ("cut pieces" if cut else "whole panels") + (
            " that come off at joints" if off else ""
        )
        records.append(_size(item, use, count, along, across))
        if cut:
            cut_from[along, across] += count
    if strip is None:
        needed = sum(
            math.ceil(count / (math.floor(whole[0] / a) * math.floor(whole[1] / b)))
            for (a, b), count in cut_from.items()
        )
        if needed:
            records.append(_size(panel, "panels to cut pieces from", needed, *whole))
    return records


def _by_size(pieces: Sequence[Piece]) -> Counter[tuple[Fraction, bool, bool]]:
    return Counter((piece.width, piece.cut, piece.comes_off) for piece in pieces)


def _size(item: str, use: str, count: int, along: Fraction, across: Fraction) -> dict[str, Any]:
    return {
        "item": item,
        "use": use,
        "count": count,
        "along_mm": float(along),
        "across_mm": float(across),
    }
