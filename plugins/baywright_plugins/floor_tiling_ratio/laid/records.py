"""One direction of a laid floor as the result shows it."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from ..common_step import steps_in_words
from ..ratios import Meeting, PairOfPitches
from .bearers import Bearer, lying_under
from .run import Gap, Run
from .sheet import Laying, Piece, Sheet, parting_edge


def direction_record(
    run: Run,
    laying: Laying,
    pairs: Sequence[PairOfPitches],
    sheet: Sheet,
    bearers: Sequence[Bearer],
) -> dict[str, Any]:
    """The fields of DirectionOut but for the free span and the ways compared."""
    lying = [bearer.at for bearer in bearers if bearer.kind == "frame"]
    return {
        "from_mm": float(-laying.overhang_front),
        "to_mm": float(run.length + laying.overhang_back),
        "panel_mm": float(laying.panel),
        "joint_play_mm": float(laying.play),
        "stretches": [
            {
                "id": stretch.id,
                "start_mm": float(stretch.start),
                "end_mm": float(stretch.end),
                "bays_count": stretch.bays,
            }
            for stretch in run.stretches
        ],
        "ratios": [_ratio(pair) for pair in pairs],
        "way": sheet.way,
        "start_mm": float(sheet.starts[0]),
        "joints": [
            _joint(run, gap, place, sheet, laying.play) for place, gap in enumerate(run.gaps)
        ],
        "pieces": {
            "start_mm": [float(piece.start) for piece in sheet.pieces],
            "end_mm": [float(piece.end) for piece in sheet.pieces],
            "kind": [_kind(piece) for piece in sheet.pieces],
            "edges_on_bearers_count": _on_bearers(sheet, lying, laying.play),
        },
        "bearers": {
            "at_mm": [float(bearer.at) for bearer in bearers],
            "kind": [bearer.kind for bearer in bearers],
        },
        "whole_count": sheet.whole,
        "strips_count": sheet.cuts,
        "coming_off_count": sheet.coming_off,
    }


def _kind(piece: Piece) -> str:
    return ("cut" if piece.cut else "whole") + ("-off" if piece.comes_off else "")


def _on_bearers(sheet: Sheet, lying: Sequence[Fraction], play: Fraction) -> list[int]:
    """For each piece how many of its two edges lie on a bearer."""
    ends = [
        lying_under(lying, [getattr(piece, end) for piece in sheet.pieces], play)
        for end in ("start", "end")
    ]
    return [sum(at is not None for at in both) for both in zip(*ends, strict=True)]


def _joint(run: Run, gap: Gap, place: int, sheet: Sheet, play: Fraction) -> dict[str, Any]:
    names = [run.stretches[gap.before].id, run.stretches[gap.before + 1].id]
    off = [piece for piece in sheet.pieces if place in piece.gaps]
    found: dict[str, Any] = {
        "between": names,
        "start_mm": float(gap.start),
        "end_mm": float(gap.end),
        "comes_apart": not off,
        "pieces_off_mm": [[float(piece.start), float(piece.end)] for piece in off],
    }
    if gap.clear is not None:
        found["clear_gap_mm"] = float(gap.clear)
    edge = parting_edge(sheet, gap, play)
    if not off and edge is not None:
        found["parts_at_mm"] = float(edge)
        if gap.hub_reach is not None:
            beyond = [(edge - gap.start, names[0]), (gap.end - edge, names[1])]
            most, name = max(beyond, key=lambda side: side[0])
            if most > gap.hub_reach:
                found |= {"sticks_out_mm": float(most - gap.hub_reach), "sticks_out_of": name}
    return found


def _ratio(pair: PairOfPitches) -> dict[str, Any]:
    shown = pair.ratio or pair.nearest or pair.beyond
    found: dict[str, Any] = {
        "bay": pair.first.id,
        "bay_mm": float(pair.first.length_mm),
        "fits": pair.ratio is not None or pair.inside is not None,
        "steps": steps_in_words(pair.first, pair.second),
    }
    if shown is not None:
        found |= _counts(shown) | {"why": str(shown.as_result()["why"])}
    if pair.inside is not None:
        found |= {
            "inside_bays_count": float(pair.inside.first_count),
            "inside_panels_count": pair.inside.second_count,
        }
    return found


def _counts(meeting: Meeting) -> dict[str, Any]:
    return {
        "bays_count": float(meeting.first_count),
        "panels_count": meeting.second_count,
        "misfit_mm": float(meeting.misfit_mm),
        "play_mm": float(meeting.play_mm),
    }


def way_record(sheet: Sheet, *, to_add: int, work: int, chosen: bool) -> Mapping[str, Any]:
    """One way to lay the panels, in numbers."""
    return {
        "way": sheet.way,
        "starts_mm": [float(start) for start in sheet.starts],
        "panel_edges_count": sheet.edges,
        "on_bearers_count": sheet.on_bearers,
        "on_nodes_count": sheet.on_nodes,
        "bearers_to_add_count": to_add,
        "strips_count": sheet.cuts,
        "coming_off_count": sheet.coming_off,
        "bad_strips_count": sheet.bad_strips,
        "work_count": work,
        "chosen": chosen,
    }
