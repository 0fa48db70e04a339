"""Changes that may clear a finding on a floor over sections; the caller proves each."""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import Finding

from .findings_lay import SIDE_WORDS
from .rim import widest_closed_gap
from .starts import PREFERENCES

Offer = tuple[str, Mapping[str, Any]]
_WORDS = {
    "least-work": "for the least work",
    "bearers": "with most panel joints on bearers",
    "apart": "so that fewest panels lie across joints",
    "whole": "with fewest strips",
}


@dataclass(frozen=True)
class Case:
    """Validated inputs, the JSON they came from, and the result."""

    inputs: Mapping[str, Any]
    raw: Mapping[str, Any]
    value: Mapping[str, Any]

    def edges(self, changes: Mapping[str, Mapping[str, float]]) -> dict[str, Any]:
        """A patch that changes fields of edges, sides added where they are not named yet."""
        given = [dict(edge) for edge in self.raw["lay"].get("edges", ())]
        for side, fields in changes.items():
            there = next((edge for edge in given if edge["side"] == side), None)
            if there is None:
                there = {"side": side}
                given.append(there)
            there.update(fields)
        return {"lay": {"edges": given}}


def _another_start(finding: Finding, case: Case) -> Iterator[Offer]:
    for prefer in PREFERENCES[::-1]:
        if prefer != case.inputs["lay"]["prefer"]:
            yield f"Start the panels {_WORDS[prefer]}.", {"lay": {"prefer": prefer}}
    yield "Lay one grid of panels through all sections.", {"lay": {"way": "run-through"}}


def _more_on_bearers(finding: Finding, case: Case) -> Iterator[Offer]:
    yield from _another_start(finding, case)
    yield "Start the panels anew in each section.", {"lay": {"way": "start-anew"}}


def _clip_together(finding: Finding, case: Case) -> Iterator[Offer]:
    if case.inputs["lay"]["panels_are"] == "loose":
        patch = {"lay": {"panels_are": "held-together"}}
        yield "Clip the panels to one another, so that they span from bearer to bearer.", patch


def _whole_panel_at_edge(finding: Finding, case: Case) -> Iterator[Offer]:
    """One strip at an edge becomes a whole panel where the floor reaches over a little more."""
    way = "across" if finding.message.startswith("Across") else "along"
    direction = case.value["laid"][way]
    pieces = direction["pieces"]
    cut = [k for k, kind in enumerate(pieces["kind"]) if kind == "cut"]
    ends = {0: 0, len(pieces["kind"]) - 1: 1}
    if len(cut) != 1 or cut[0] not in ends:
        return
    side = {"along": ("front", "back"), "across": ("near", "far")}[way][ends[cut[0]]]
    edge = next(edge for edge in case.value["laid"]["edges"] if edge["side"] == side)
    more = round(direction["panel_mm"] - edge["piece_mm"], 3)
    overhang = round(edge["overhang_mm"] + more, 3)
    if more <= direction["panel_mm"] / 2 and overhang <= 1000:
        message = (
            f"Let the floor reach {overhang:g} mm over the outer bearer at the "
            f"{SIDE_WORDS[side]}: a whole panel fits in place of the strip."
        )
        yield message, case.edges({side: {"overhang_mm": overhang}})


def _close_gap(finding: Finding, case: Case) -> Iterator[Offer]:
    """The wall, else the floor's edge, moved so that the gap is half a ball at most."""
    gap = math.floor(widest_closed_gap(case.inputs["ball"]["diameter_mm"]))
    places = [int(pointer.rsplit("/", 1)[1]) for pointer in finding.at]
    named = [case.inputs["lay"]["edges"][place] for place in places]
    walls = {edge["side"]: {"wall_mm": round(edge["overhang_mm"] + gap, 3)} for edge in named}
    where = " and ".join(
        f"{SIDE_WORDS[side]} to {to['wall_mm']:g} mm" for side, to in walls.items()
    )
    yield f"Move the wall at the {where} beyond the outer bearer.", case.edges(walls)
    reach = {edge["side"]: {"overhang_mm": max(0.0, edge["wall_mm"] - gap)} for edge in named}
    where = " and ".join(
        f"{SIDE_WORDS[side]} {to['overhang_mm']:g} mm" for side, to in reach.items()
    )
    yield f"Let the floor reach over at the {where}.", case.edges(reach)


def _less_overhang(finding: Finding, case: Case) -> Iterator[Offer]:
    side = case.inputs["lay"]["edges"][int(finding.at[0].rsplit("/", 1)[1])]["side"]
    message = f"Let the floor end on the outer bearer at the {SIDE_WORDS[side]}."
    yield message, case.edges({side: {"overhang_mm": 0}})


def _better_steps(finding: Finding, case: Case) -> Iterator[Offer]:
    given = case.inputs["slope_steps"]
    most = given["most_pieces_per_support_count"]
    low = given.get("low_edge_max_mm", given["low_edge_min_mm"])
    kinds = given["pieces"]
    finest = min((piece["height_mm"] for piece in kinds), default=given.get("module_mm", 0))
    if kinds and most < 6:
        patch: dict[str, Any] = {"slope_steps": {"most_pieces_per_support_count": 6}}
        yield "Allow six pieces in one support.", patch
    step = given.get("module_mm", finest)
    patch = {"slope_steps": {"low_edge_max_mm": low + step}}
    yield f"Let the low corner stand up to {low + step:g} mm high.", patch
    for slope, span in _even_slopes(given, case.value["slope_steps"], finest):
        message = (
            f"Make the floor fall {slope:.4g} %: a whole number of {finest:g} mm steps over each "
            f"{span:g} mm."
        )
        yield message, {"slope_steps": {"along_percent": slope}}


def _even_slopes(
    given: Mapping[str, Any], record: Mapping[str, Any], finest: float
) -> Iterator[tuple[float, float]]:
    """Slopes within half of the wanted one that are whole steps over the shortest or longest span,
    with that span."""
    spans = [fall["end_mm"] - fall["start_mm"] for fall in record["falls"]]
    wanted = given["along_percent"]
    for span in sorted({min(spans), max(spans)}):
        unit = finest / span * 100
        for steps in sorted({max(1, math.floor(wanted / unit)), math.ceil(wanted / unit)}):
            slope = round(steps * unit, 6)
            if slope <= 20 and 0 < abs(slope - wanted) <= wanted / 2:
                yield slope, span


def _more_rows(finding: Finding, case: Case) -> Iterator[Offer]:
    given, record = case.inputs["netting"], case.value["netting"]
    above = record["wall_needed_mm"] - given["bottom_gap_mm"]
    rows = max(1, math.ceil(above / given["net"]["height_mm"]))
    if rows <= 100:
        yield f"Take {rows} rows of net.", {"netting": {"rows_count": rows}}


def _wider_net_search(finding: Finding, case: Case) -> Iterator[Offer]:
    given = case.inputs["netting"]
    if given["spacers"] and given["most_spacers_count"] < 8:
        patch = {"netting": {"most_spacers_count": 8}}
        yield "Allow eight spacers in one repeat.", patch
    if given["most_bays_count"] < 40:
        yield "Let a repeat be up to 40 bays long.", {"netting": {"most_bays_count": 40}}


def _finer_net(finding: Finding, case: Case) -> Iterator[Offer]:
    ball = case.inputs["ball"]["diameter_mm"]
    cord = case.inputs["netting"]["net"]["made_of"] == "cord"
    widest = ball * math.pi / 4 if cord else ball
    opening = math.ceil(widest * 0.9)
    if opening < widest:
        message = f"Take a net with square openings of {opening} mm."
        net = {"opening_mm": opening, "opening_height_mm": opening}
        yield message, {"netting": {"net": net}}


def _lower_net(finding: Finding, case: Case) -> Iterator[Offer]:
    gap = math.floor(widest_closed_gap(case.inputs["ball"]["diameter_mm"]))
    message = f"Lower the net until {gap} mm are free below it."
    yield message, {"netting": {"bottom_gap_mm": gap}}


OFFERS: dict[str, Callable[[Finding, Case], Iterator[Offer]]] = {
    "panels-cross-joint": _another_start,
    "no-joint-on-bearer": _more_on_bearers,
    "bearers-to-add": _clip_together,
    "strips-to-cut": _whole_panel_at_edge,
    "strip-too-narrow": _whole_panel_at_edge,
    "strip-at-landing": _another_start,
    "edge-hits-wall": _close_gap,
    "ball-through-edge": _close_gap,
    "ball-sticks-at-edge": _close_gap,
    "corner-swallows-ball": _close_gap,
    "edge-piece-unsupported": _less_overhang,
    "edge-piece-tips": _less_overhang,
    "slope-off-steps": _better_steps,
    "slope-has-level-stretch": _better_steps,
    "slope-below-rolling": _better_steps,
    "floor-kinks": _better_steps,
    "net-too-low": _more_rows,
    "net-meets-no-post": _wider_net_search,
    "net-panels-to-cut": _wider_net_search,
    "ball-through-net": _finer_net,
    "ball-under-net": _lower_net,
}
