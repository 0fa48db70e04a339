"""What the builder should know about a floor laid over sections."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure

from ..findings import many, mm, shelf_findings

Record = Mapping[str, Any]
SIDE_WORDS = {"front": "front", "back": "back", "near": "near side", "far": "far side"}
_SHOWN = 6


def lay_findings(lay: Record, record: Record, panel: str) -> list[Finding]:
    """Joints, bearers, strips of both directions, edges, corners, shelf."""
    found: list[Finding] = []
    for way in ("along", "across"):
        place = ("/lay/frame", f"/laid/{way}") if "frame" in lay else (f"/lay/{way}",)
        direction = record[way]
        found += _joints(way, place, direction)
        found += _bearers(way, place, direction, lay["panels_are"])
        found += _strips(way, place, direction, lay)
    if lay["edges"]:
        places = {edge["side"]: k for k, edge in enumerate(lay["edges"])}
        found += _edges(record["edges"], places)
        found += _corners(record["corners"], places)
    if "panels_on_hand_count" in lay:
        on_hand, at = lay["panels_on_hand_count"], "/lay/panels_on_hand_count"
        found += shelf_findings(record["panels_needed_count"], on_hand, panel, at=at)
    return found


def ratio_findings(record: Record, known: frozenset[str]) -> list[Finding]:
    """Bay pitches that are not among the pitches given, which have findings of their own."""
    found: list[Finding] = []
    for way in ("along", "across"):
        for ratio in record[way]["ratios"]:
            if ratio["bay"] in known or any(ratio["bay"] in f.message for f in found):
                continue
            found.append(_bay_ratio(way, ratio))
    return found


def _bay_ratio(way: str, ratio: Record) -> Finding:
    at = ("/lay",)
    inside = ""
    if "inside_bays_count" in ratio:
        inside = (
            f" At a node inside a bay they meet sooner: {ratio['inside_bays_count']:g} bays = "
            f"{ratio['inside_panels_count']} panels."
        )
    if ratio["fits"]:
        message = (
            f"{way.capitalize()}, {ratio['bays_count']:g} bays of {ratio['bay']} meet "
            f"{ratio['panels_count']} panels. {ratio['why']}{inside} Let joints fall there."
        )
        return Finding("bay-ratio", "ok", message, at)
    message = (
        f"{way.capitalize()}, bays of {ratio['bay']} ({mm(ratio['bay_mm'])}) and panels meet "
        f"nowhere near; {ratio['bays_count']:g} bays and {ratio['panels_count']} panels are "
        f"{mm(abs(ratio['misfit_mm']))} apart. Put bearers under the panel joints there."
    )
    measure = Measure(abs(ratio["misfit_mm"]), ratio["play_mm"], "mm")
    return Finding("bay-without-ratio", "watch", message, at, measure)


def _joints(way: str, place: tuple[str, ...], direction: Record) -> list[Finding]:
    found = []
    crossed = [joint for joint in direction["joints"] if not joint["comes_apart"]]
    apart = [joint for joint in direction["joints"] if joint["comes_apart"]]
    if crossed:
        names = "; ".join(
            f"{' and '.join(joint['between'])}: {_spans(joint['pieces_off_mm'])}"
            for joint in crossed[:_SHOWN]
        )
        message = (
            f"{way.capitalize()}, every row has {many(direction['coming_off_count'], 'piece')} "
            f"across {many(len(crossed), 'separation joint')} ({names}): take them off before the "
            f"sections part, mark them, and leave them unfixed."
        )
        measure = Measure(len(crossed), 0, "1")
        found.append(Finding("panels-cross-joint", "watch", message, place, measure))
    if apart:
        at = ", ".join(f"{joint['parts_at_mm']:g}" for joint in apart[:_SHOWN])
        message = (
            f"{way.capitalize()}, panel joints fall into {len(apart)} of "
            f"{len(direction['joints'])} separation joints, at {at} mm: the floor parts there, "
            f"nothing comes off. Leave those joints unclipped."
        )
        found.append(Finding("floor-comes-apart", "ok", message, place))
    sticking = [joint for joint in apart if "sticks_out_mm" in joint]
    if sticking:
        worst = max(sticking, key=lambda joint: joint["sticks_out_mm"])
        message = (
            f"{way.capitalize()}, parted at {worst['parts_at_mm']:g} mm the floor sticks "
            f"{mm(worst['sticks_out_mm'])} out of the hub ends of {worst['sticks_out_of']}: add "
            f"that to its length in doors and in the van, or take that panel off."
        )
        measure = Measure(worst["sticks_out_mm"], 0, "mm")
        found.append(Finding("floor-sticks-out", "watch", message, place, measure))
    return found


def _spans(pieces: Sequence[Sequence[float]]) -> str:
    shown = ", ".join(f"{a:g} to {b:g} mm" for a, b in pieces[:2])
    return shown + (" …" if len(pieces) > 2 else "")


def _bearers(way: str, place: tuple[str, ...], direction: Record, panels_are: str) -> list[Finding]:
    chosen = direction["ways"][0]
    on, nodes, edges = (
        chosen[key] for key in ("on_bearers_count", "on_nodes_count", "panel_edges_count")
    )
    found = []
    if on + nodes:
        word = f" and {nodes} over a node without one" if nodes else ""
        what = "on a bearer" if way == "along" else "over lengthwise rods"
        message = (
            f"{way.capitalize()}, the first whole panel starts at {direction['start_mm']:g} mm: "
            f"{on} of {edges} panel edges lie {what}{word}. Fix the floor there."
        )
        found.append(
            Finding("panel-joints-on-bearers", "ok", message, place, Measure(on, edges, "1"))
        )
    elif way == "along":
        message = (
            f"Along, none of {edges} panel edges lies on a bearer or a node: fix panels by their "
            f"middles, or take another panel pitch."
        )
        found.append(Finding("no-joint-on-bearer", "watch", message, place))
    kinds = list(zip(direction["bearers"]["at_mm"], direction["bearers"]["kind"], strict=True))
    at_nodes = [at for at, kind in kinds if kind == "add-at-node"]
    between = [at for at, kind in kinds if kind == "add-between"]
    if at_nodes or between:
        why = (
            "every joint of loose panels needs one"
            if panels_are == "loose"
            else f"panels that hold together span {mm(direction['free_span_mm'])} at most"
        )
        parts = [
            *([f"{len(at_nodes)} between hubs at {_places(at_nodes)}"] if at_nodes else []),
            *([f"{len(between)} off the hubs, on rails, at {_places(between)}"] if between else []),
        ]
        message = f"{way.capitalize()}, add bearers: {' and '.join(parts)}, since {why}."
        count = Measure(len(at_nodes) + len(between), 0, "1")
        found.append(Finding("bearers-to-add", "watch", message, place, count))
    return found


def _places(places: Sequence[float]) -> str:
    shown = ", ".join(f"{at:.5g}" for at in places[:_SHOWN])
    return f"{shown}{' …' if len(places) > _SHOWN else ''} mm"


def _strips(way: str, place: tuple[str, ...], direction: Record, lay: Record) -> list[Finding]:
    pieces = direction["pieces"]
    cut = [
        (start, end)
        for start, end, kind in zip(
            pieces["start_mm"], pieces["end_mm"], pieces["kind"], strict=True
        )
        if kind.startswith("cut")
    ]
    if not cut:
        message = f"{way.capitalize()}, whole panels fill the floor: no strip to cut."
        return [Finding("laid-without-strips", "ok", message, place)]
    narrow = [(a, b) for a, b in cut if b - a < lay["least_strip_mm"]]
    shown = ", ".join(f"{mm(b - a)} at {a:.5g}" for a, b in cut[:_SHOWN])
    more = " …" if len(cut) > _SHOWN else ""
    message = (
        f"{way.capitalize()}, every row takes {many(len(cut), 'piece')} less than a panel: "
        f"{shown}{more} mm. Cut them before the show and mark where they go."
    )
    found = [Finding("strips-to-cut", "watch", message, place, Measure(len(cut), 0, "1"))]
    if narrow:
        a, b = narrow[0]
        message = (
            f"{way.capitalize()}, the strip at {a:.5g} mm is {mm(b - a)} wide, narrower than "
            f"{mm(lay['least_strip_mm'])} worth cutting: fill it with a lath, or let the floor "
            f"reach further over the edge."
        )
        measure = Measure(b - a, lay["least_strip_mm"], "mm")
        found.append(Finding("strip-too-narrow", "watch", message, place, measure))
    under = [
        (zone["name"], a)
        for zone in lay["keep_clear"]
        if zone["direction"] == way
        for a, b in cut
        if a < zone["to_mm"] and zone["from_mm"] < b
    ]
    if under:
        name, a = under[0]
        message = (
            f"{way.capitalize()}, the strip at {a:.5g} mm lies under the {name}: move the landing "
            f"or prefer another start."
        )
        found.append(Finding("strip-at-landing", "stop", message, ("/lay/keep_clear",)))
    return found


def _edges(edges: Sequence[Record], places: Mapping[str, int]) -> list[Finding]:
    found = []
    open_sides = [SIDE_WORDS[edge["side"]] for edge in edges if "gap_mm" not in edge]
    if open_sides and len(open_sides) < len(edges):
        message = (
            f"No wall at the {' and '.join(open_sides)} of the floor: balls roll off. Put a wall "
            f"or a rim there, or a catch below."
        )
        found.append(Finding("edge-open", "watch", message, ("/lay/edges",)))
    for edge in edges:
        at = (f"/lay/edges/{places[edge['side']]}",) if edge["side"] in places else ("/lay/edges",)
        found += _edge(edge, at)
    return found


def _edge(edge: Record, at: tuple[str, ...]) -> list[Finding]:
    side = SIDE_WORDS[edge["side"]]
    found = []
    if not edge["rests"]:
        message = (
            f"At the {side} the last piece is {mm(edge['piece_mm'])} wide and hangs "
            f"{mm(edge['overhang_mm'])} over the outer bearer: it lies on nothing. Let it reach "
            f"back to the bearer, or hang less of it over."
        )
        measure = Measure(edge["overhang_mm"], edge["piece_mm"], "mm")
        found.append(Finding("edge-piece-unsupported", "stop", message, at, measure))
    elif not edge["stays_down"]:
        message = (
            f"At the {side} {mm(edge['overhang_mm'])} of a piece of {mm(edge['piece_mm'])} hang "
            f"over the outer bearer, more than half: it tips. Clip it down or hang less over."
        )
        measure = Measure(edge["overhang_mm"], edge["piece_mm"] / 2, "mm")
        found.append(Finding("edge-piece-tips", "watch", message, at, measure))
    found += _ball_at(f"At the {side}", "gap to the wall", edge, at)
    return found


def _corners(corners: Sequence[Record], places: Mapping[str, int]) -> list[Finding]:
    found = []
    for corner in corners:
        at = tuple(f"/lay/edges/{places[side]}" for side in corner["sides"] if side in places)
        if corner["ball"] == "swallows":
            where = " and ".join(SIDE_WORDS[side] for side in corner["sides"])
            message = (
                f"In the corner of {where} a ball falls through, though each of the two gaps may "
                f"hold it: close the corner with a block, or narrow one gap."
            )
            found.append(Finding("corner-swallows-ball", "stop", message, at))
    return found


def _ball_at(where: str, what: str, edge: Record, at: tuple[str, ...]) -> list[Finding]:
    if edge["ball"] == "runs-in":
        message = (
            f"{where} the floor reaches {mm(-edge['gap_mm'])} into the wall: cut the overhang or "
            f"move the wall out."
        )
        return [Finding("edge-hits-wall", "stop", message, at, Measure(edge["gap_mm"], 0, "mm"))]
    if edge["ball"] == "swallows":
        message = f"{where} balls fall through the {what} of {mm(edge['gap_mm'])}: close it."
        return [Finding("ball-through-edge", "stop", message, at)]
    if edge["ball"] == "sinks":
        message = (
            f"{where} a ball sinks {mm(edge['sink_mm'])} into the {what} of {mm(edge['gap_mm'])} "
            f"and needs a fall of {edge['leave_percent']:.1f} % away from the wall to leave: make "
            f"the gap half a ball or less."
        )
        return [Finding("ball-sticks-at-edge", "watch", message, at)]
    return []
