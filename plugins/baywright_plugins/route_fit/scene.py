"""The route in space: each section and box in its attitude in each opening."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from baywright_service.contract import Scene, ScenePassing

from ..frame import Frame, frame_of, frame_scene
from ..grid_fit.sections import overhangs_mm
from ..kit import Kit
from .answer import Route
from .carried import Triple
from .outlines import Reach, low_ends
from .passage import RoutePassage
from .pose import pose
from .things import Thing
from .way import Crossing, Way

MOST_PASSINGS = 600

_HOW = {
    "upright": "upright",
    "on-back": "laid on its back",
    "on-end": "stood on its end",
    "tilted": "leaning",
}


def scene_of(inputs: Mapping[str, Any], route: Route) -> Scene:
    """What goes along the route, in the frame of each opening that it comes to."""
    if "frame" in inputs:
        kit = Kit.from_inputs(inputs["kit"])
        frame = frame_of(inputs["frame"], kit)
        layout = inputs["frame"].get("layout", {})
        scene = frame_scene(frame, kit, title=layout.get("title") or "Route")
    else:
        frame, scene = None, Scene("Route", "")
    found = list(_passings(inputs, route, frame))
    kept = found[:MOST_PASSINGS]
    left_out = [f"{len(found) - len(kept)} openings are not shown."] if found != kept else []
    others = [stop.title for stop in route.passages if stop.doorway is None]
    if others:
        left_out.append(f"Only openings are shown; not: {', '.join(others)}.")
    stuck = sum(not one.passes for one in kept)
    words = f"{scene.words} {len(kept)} ways through openings, {stuck} of them stuck.".strip()
    return replace(scene, words=words, passings=kept, left_out=left_out)


def _passings(
    inputs: Mapping[str, Any], route: Route, frame: Frame | None
) -> Iterator[ScenePassing]:
    places = {section.id: k for k, section in enumerate(frame.sections)} if frame else {}
    for thing, crossings in zip(route.things, route.crossings, strict=True):
        for stop, crossing in zip(route.passages, crossings, strict=True):
            way = next((way for way in crossing.ways if way.obstacle == "opening"), None)
            if stop.doorway is not None and way is not None:
                place = places.get(thing.id) if thing.kind == "Section" else None
                yield _passing(inputs, route, thing, stop, crossing, way, place)


def _passing(
    inputs: Mapping[str, Any],
    route: Route,
    thing: Thing,
    stop: RoutePassage,
    crossing: Crossing,
    way: Way,
    place: int | None,
) -> ScenePassing:
    doorway = stop.doorway
    assert doorway is not None
    turn = pose(thing.carried, way)
    across, through, up = (_triple(row) for row in turn)
    return ScenePassing(
        body=thing.id,
        opening=stop.title or stop.id,
        words=_words(thing, stop, crossing, way),
        passes=crossing.passes,
        spare_mm=max(crossing.spare_mm, -1e7),
        opening_mm=(doorway.width_mm, doorway.height_mm),
        lifted_mm=max(route.clearances.lifted_mm, doorway.threshold_mm),
        through_mm=doorway.reveal_mm or 0.0,
        blocks_mm=[(block.low_mm, block.high_mm) for block in thing.carried.blocks()],
        turn=(across, through, up),
        group=place,
        inside_at_mm=(0.0, 0.0, 0.0) if place is None else _inside_at(inputs, thing),
    )


def _inside_at(inputs: Mapping[str, Any], thing: Thing) -> Triple:
    """Where the section's lowest node lies from the outer corner over all."""
    overhangs = overhangs_mm(Kit.from_inputs(inputs["kit"]), inputs["flush_axes"])
    reaches = [
        Reach.from_inputs(part, "")
        for part in inputs["protrusions"]
        if thing.id in part.get("sections", (thing.id,))
        and not (part["taken_off"] and part["removable"])
    ]
    low = low_ends(reaches)
    return low[0] + overhangs["x"], low[1] + overhangs["y"], low[2] + overhangs["z"]


def _words(thing: Thing, stop: RoutePassage, crossing: Crossing, way: Way) -> str:
    name = thing.id if thing.kind == "Section" else f"Box {thing.id}"
    how = _HOW[way.attitude]
    if way.attitude == "tilted":
        how = f"{how} by {way.angle_deg:.0f}°"
    where = stop.title or stop.id
    size = f"{way.width_mm:.0f} mm wide and {way.height_mm:.0f} mm high as it is carried"
    first = f"{name} {how} at {where}, {way.travel} first: {size}."
    if way.passes:
        second = f"{way.spare_mm:.0f} mm to spare; the {way.tight} decides."
    else:
        second = f"It sticks by {-way.spare_mm:.0f} mm; the {way.tight} decides."
    if crossing.governs.obstacle != "opening":
        third = "passes" if crossing.passes else "sticks"
        where = crossing.governs.obstacle.replace("-", " ")
        second += f" Of the whole passage the {where} is tighter: it {third} there."
    return f"{first} {second}"


def _triple(row: Any) -> Triple:
    x, y, z = (float(value) for value in row)
    return x, y, z
