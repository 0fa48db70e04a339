"""From `lay` inputs to a floor laid over sections: records of both directions, edges, pieces."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs

from ...frame import LayoutFault
from ...kit import Kit
from ..common_repeats import SearchTooWide
from ..continued_fractions import exact
from ..made_of import Pitch
from ..ratios import PairOfPitches, pair_of_pitches
from .bearers import Bearer, bearers_for, bearers_there
from .from_frame import FrameRuns, NotARow, runs_of_frame, sections_of
from .records import direction_record, way_record
from .run import JointGiven, Run, StretchGiven, bays_between, run_of
from .sheet import Laying, Search, Sheet, run_through, start_anew

MOST_PLANES = 1200
MOST_PANELS = 5000
_ENDS = {"along": ("front", "back"), "across": ("near", "far")}


@dataclass(frozen=True)
class Way:
    """A sheet and the bearers it lies on."""

    sheet: Sheet
    bearers: tuple[Bearer, ...]

    @property
    def to_add(self) -> int:
        return sum(bearer.kind != "frame" for bearer in self.bearers)

    @property
    def work(self) -> int:
        """Bearers to add, strips to cut and pieces to take off, together."""
        return self.to_add + self.sheet.cuts + self.sheet.coming_off


@dataclass(frozen=True)
class LaidDirection:
    """One direction worked out; `ways` best first, the first one is laid."""

    run: Run
    laying: Laying
    free_span: Fraction
    pairs: tuple[PairOfPitches, ...]
    ways: tuple[Way, ...]
    compared: int
    record: Mapping[str, Any]

    @property
    def chosen(self) -> Way:
        return self.ways[0]


@dataclass(frozen=True)
class LaidFloor:
    along: LaidDirection
    across: LaidDirection
    frame: FrameRuns | None


def lay_floor(inputs: Mapping[str, Any], pitches: Sequence[Pitch]) -> LaidFloor:
    """Both directions. Raises CannotCalculate with the place of what does not work out."""
    lay = inputs["lay"]
    frame = _frame_runs(inputs, pitches) if "frame" in lay else None
    ids = [pitch.id for pitch in pitches]
    panel = pitches[ids.index(lay["panel"])] if "panel" in lay else pitches[-1]
    other = pitches[ids.index(lay["panel_across"])] if "panel_across" in lay else panel
    runs = {
        "along": frame.along if frame else _run(lay["along"], pitches, "/lay/along"),
        "across": frame.across if frame else _run(lay["across"], pitches, "/lay/across"),
    }
    laid = {
        way: _direction(way, run, panel if way == "along" else other, inputs)
        for way, run in runs.items()
    }
    return LaidFloor(laid["along"], laid["across"], frame)


def _frame_runs(inputs: Mapping[str, Any], pitches: Sequence[Pitch]) -> FrameRuns:
    lay = inputs["lay"]
    if "layout" not in lay["frame"]:
        reason = "This frame has no grid: give it as a layout, or give along and across."
        raise CannotCalculate("/lay/frame", reason)
    kit = Kit.from_inputs(inputs["kit"])
    try:
        every = sections_of(lay["frame"]["layout"], kit)
        ids = [section.id for section in every]
        wanted = lay.get("sections", ids)
        strangers = [k for k, name in enumerate(wanted) if name not in ids]
        if strangers:
            reason = f"The frame has no such section; there are {', '.join(ids[:20])}."
            raise CannotCalculate(f"/lay/sections/{strangers[0]}", reason)
        chosen = [section for section in every if section.id in wanted]
        return runs_of_frame(chosen, kit, lay.get("level"), pitches)
    except LayoutFault as fault:
        where = f"/lay/frame{fault.pointer}"
        raise InvalidInputs([(where, Fault(fault.code, fault.detail))]) from fault
    except NotARow as error:
        place = "/lay/level" if " level " in str(error) else "/lay/frame"
        raise CannotCalculate(place, str(error)) from error


def _run(given: Mapping[str, Any], pitches: Sequence[Pitch], pointer: str) -> Run:
    by_id = {pitch.id: pitch for pitch in pitches}
    bays = [
        [by_id[row["pitch"]] for row in stretch["bays"] for _ in range(row["count"])]
        if "bays" in stretch
        else bays_between([round(x * 1000) for x in stretch["planes_mm"].tolist()], pitches)
        for stretch in given["stretches"]
    ]
    if sum(1 + sum(bay.nodes for bay in row) for row in bays) > MOST_PLANES:
        raise CannotCalculate(pointer, f"More than {MOST_PLANES} node planes.")
    stretches = []
    for number, (stretch, row) in enumerate(zip(given["stretches"], bays, strict=True)):
        bare = frozenset(int(k) for k in stretch["bare_planes"])
        if bare and max(bare) > len(row):
            where = f"{pointer}/stretches/{number}/bare_planes"
            raise CannotCalculate(where, f"{stretch['id']} has bay edges 0 to {len(row)}.")
        stretches.append(StretchGiven(stretch["id"], row, bare))
    joints = [
        JointGiven(
            exact(joint["pitch_mm"]),
            exact(joint["clear_gap_mm"]) if "clear_gap_mm" in joint else None,
        )
        for joint in given["joints"]
    ]
    return run_of(stretches, joints)


def _direction(way: str, run: Run, panel: Pitch, inputs: Mapping[str, Any]) -> LaidDirection:
    lay = inputs["lay"]
    if len(run.planes) > MOST_PLANES:
        raise CannotCalculate("/lay/frame", f"More than {MOST_PLANES} node planes {way}.")
    if run.length > MOST_PANELS * panel.length_mm:
        raise CannotCalculate("/lay", f"More than {MOST_PANELS} panels {way}.")
    pairs = tuple(_pair(pitch, panel, inputs["most_repeats_count"]) for pitch in run.pitches)
    play = exact(lay["joint_play_mm"]) if "joint_play_mm" in lay else _play(pairs, panel)
    if 2 * play >= panel.length_mm:
        reason = "A joint that may lie half a panel off its bearer always meets one."
        raise CannotCalculate("/lay/joint_play_mm", reason)
    front, back = (_overhang(lay, side) for side in _ENDS[way])
    clear = [
        (exact(zone["from_mm"]), exact(zone["to_mm"]))
        for zone in lay["keep_clear"]
        if zone["direction"] == way
    ]
    short = [stretch.id for stretch in run.stretches if stretch.end - stretch.start <= 2 * play]
    if short:
        reason = f"{way.capitalize()}, {short[0]} is no longer than the play of two joints."
        raise CannotCalculate("/lay/joint_play_mm", reason)
    laying = Laying(
        panel.length_mm,
        play,
        exact(lay["least_strip_mm"]),
        front,
        back,
        clear,
        lay["prefer"],
        lay["panels_are"] == "loose" and way == "along",
    )
    span = exact(lay["free_span_mm"]) if "free_span_mm" in lay else run.longest_bay
    ways, compared = _ways(run, laying, span if way == "along" else None, lay["way"])
    record = direction_record(run, laying, pairs, ways[0].sheet, ways[0].bearers)
    record |= {"free_span_mm": float(span)} if way == "along" else {}
    record |= {
        "starts_compared_count": compared,
        "ways": [
            way_record(found.sheet, to_add=found.to_add, work=found.work, chosen=not place)
            for place, found in enumerate(ways)
        ],
    }
    return LaidDirection(run, laying, span, pairs, ways, compared, record)


def _pair(pitch: Pitch, panel: Pitch, most: int) -> PairOfPitches:
    try:
        return pair_of_pitches(pitch, panel, most=most, listed=1)
    except SearchTooWide as error:
        reason = "So much play for so many repeats: ask for fewer repeats or less play."
        raise CannotCalculate("/most_repeats_count", reason) from error


def _play(pairs: Sequence[PairOfPitches], panel: Pitch) -> Fraction:
    """The largest play of one repeat that holds, a tenth of a panel at most."""
    plays = [meeting.play_mm for pair in pairs for meeting in (pair.ratio, pair.inside) if meeting]
    most = max(plays, default=max(pair.first.play_mm for pair in pairs) + panel.play_mm)
    return min(most, panel.length_mm / 10)


def _overhang(lay: Mapping[str, Any], side: str) -> Fraction:
    return next(
        (exact(edge["overhang_mm"]) for edge in lay["edges"] if edge["side"] == side), Fraction(0)
    )


def _ways(
    run: Run, laying: Laying, span: Fraction | None, wanted: str
) -> tuple[tuple[Way, ...], int]:
    """Ways worth showing, the one to lay first. Without a span no bearers are added: across, every
    panel lies on those that run across."""
    searches: list[Search] = []
    if wanted != "start-anew" or len(run.stretches) == 1:
        searches.append(run_through(run, laying))
    if wanted != "run-through" and len(run.stretches) > 1:
        searches.append(start_anew(run, laying))
    ways = [
        Way(
            sheet,
            bearers_there(run)
            if span is None
            else bearers_for(run, sheet, play=laying.play, free_span=span, loose=laying.loose),
        )
        for search in searches
        for sheet in search.sheets
    ]
    ways.sort(key=lambda way: _rank(way, laying.prefer))
    return tuple(ways), sum(search.compared for search in searches)


def _rank(way: Way, prefer: str) -> tuple[int, ...]:
    sheet = way.sheet
    first = {
        "least-work": (way.work, -sheet.on_bearers),
        "bearers": (-sheet.on_bearers, sheet.coming_off),
        "apart": (sheet.coming_off, -sheet.on_bearers),
        "whole": (sheet.cuts, sheet.coming_off),
    }[prefer]
    return (sheet.bad_strips, *first, way.work, -sheet.on_nodes)
