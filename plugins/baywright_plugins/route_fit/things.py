"""What goes along the route: sections of a frame and boxes, over all and as outlines."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from baywright_service.contract import Caution, Fault, InvalidInputs

from ..cautions import section_cautions
from ..frame import Frame, frame_of, node_masses_kg
from ..grid_fit.passages import AXES
from ..grid_fit.sections import overhangs_mm, rods_along, section_facts
from ..kit import Kit
from .carried import Carried, Solid, Triple
from .outlines import Reach, outline_of, outside_of
from .published_openings import EN_13698_1
from .route_schemas import MOST_PARTS


@dataclass(frozen=True)
class Thing:
    """A section or box: what is carried, where it stands in the inputs, its first twin.

    `mass_kg`: of a section, without what sticks out of it; None where nobody knows.
    """

    kind: str
    title: str
    carried: Carried
    pointer: str
    twin_of: str
    over_hubs_mm: Triple | None = None
    mass_kg: float | None = None

    @property
    def id(self) -> str:
        return self.carried.id


def things_of(
    inputs: Mapping[str, Any], raw: Mapping[str, Any], *, again: bool = False
) -> list[Thing]:
    """Everything that goes along the route, sections first.

    `again`: the frame was looked at before, so that sizes are enough and twins do not matter.

    Raises InvalidInputs: a frame without a kit, names of sections that are not there, a box named
    like a section, patches beside their section, outlines that do not fill their box.
    """
    sections = _sections(inputs, raw, again) if "frame" in inputs else []
    boxes = [_box(box, k) for k, box in enumerate(inputs["boxes"])]
    _check_names(inputs, sections)
    return [*sections, *boxes]


def weight_cautions(things: Sequence[Thing]) -> list[Caution]:
    """What the heaviest section calls for, carried by two."""
    masses = [thing.mass_kg for thing in things if thing.mass_kg is not None]
    return list(section_cautions(masses))


def _sections(inputs: Mapping[str, Any], raw: Mapping[str, Any], again: bool) -> list[Thing]:
    if "kit" not in inputs:
        raise InvalidInputs([("/kit", Fault("missing", "A frame needs its kit."))])
    kit = Kit.from_inputs(inputs["kit"])
    overhangs = overhangs_mm(kit, inputs["flush_axes"])
    masses: dict[str, float] = {}
    if again and "layout" in raw["frame"]:
        found = _sums(raw["frame"]["layout"], kit, overhangs)
    else:
        frame = frame_of(inputs["frame"], kit)
        masses = _masses(frame, kit)
        found = _sizes(frame, raw["frame"], kit, overhangs)
    things = []
    for id, title, size, twin, pointer in found:
        carried = _section(id, size, inputs, upright=id in inputs["keep_upright"])
        things.append(Thing("Section", title, carried, pointer, twin, size, masses.get(id)))
    return _twins_alike(things)


def _masses(frame: Frame, kit: Kit) -> dict[str, float]:
    """Mass of each section with its fittings, and its halves of the rods that couple it."""
    nodes = np.bincount(
        frame.node_section, node_masses_kg(frame, kit), minlength=len(frame.sections)
    )
    return {section.id: float(nodes[k]) for k, section in enumerate(frame.sections)}


def _sizes(
    frame: Frame, raw: Mapping[str, Any], kit: Kit, overhangs: Mapping[str, float]
) -> Iterator[tuple[str, str, Triple, str, str]]:
    """(id, title, size over the hub ends, twin of, pointer) of each section."""
    if "layout" in raw:
        layout = raw["layout"]
        facts = section_facts(frame, layout, kit, overhangs_mm=overhangs, protruding_mm={})
        for k, one in enumerate(facts):
            x, y, z = (one.over_hubs_mm[axis] for axis in AXES)
            yield one.id, one.title, (x, y, z), one.twin_of or one.id, f"/frame/layout/sections/{k}"
        return
    for k, section in enumerate(frame.sections):
        nodes = frame.nodes_mm[frame.node_section == k]
        if len(nodes):
            span = np.ptp(nodes, axis=0)
            x, y, z = (float(span[n]) + 2 * overhangs[axis] for n, axis in enumerate(AXES))
            yield section.id, section.title, (x, y, z), section.id, "/frame"


def _sums(
    layout: Mapping[str, Any], kit: Kit, overhangs: Mapping[str, float]
) -> Iterator[tuple[str, str, Triple, str, str]]:
    """As `_sizes`, from the rods of the layout alone."""
    pitch = {rod.id: rod.pitch_um for rod in kit.rods}
    for k, spec in enumerate(layout["sections"]):
        x, y, z = (
            sum(pitch[rod] for rod in rods_along(spec, axis)) / 1000 + 2 * overhangs[axis]
            for axis in AXES
        )
        yield spec["id"], "", (x, y, z), spec["id"], f"/frame/layout/sections/{k}"


def _section(id: str, size: Triple, inputs: Mapping[str, Any], *, upright: bool) -> Carried:
    reaches = [
        Reach.from_inputs(part, f"/protrusions/{k}")
        for k, part in enumerate(inputs["protrusions"])
        if id in part.get("sections", (id,)) and not (part["taken_off"] and part["removable"])
    ]
    outside = outside_of(size, reaches)
    blocks = outline_of(id, size, reaches)
    if len(blocks) > MOST_PARTS:
        blocks = (Solid((0.0, 0.0, 0.0), outside),)
    return Carried(id, outside, blocks, keep_upright=upright)


def _twins_alike(things: Sequence[Thing]) -> list[Thing]:
    """Twins of the layout that are carried alike too."""
    by_id = {thing.id: thing for thing in things}
    found = []
    for thing in things:
        first = by_id[thing.twin_of].carried
        same = (first.size_mm, first.projections, first.keep_upright) == (
            thing.carried.size_mm, thing.carried.projections, thing.carried.keep_upright
        )  # fmt: skip
        twin = thing.twin_of if same else thing.id
        found.append(replace(thing, twin_of=twin))
    return found


def _box(box: Mapping[str, Any], place: int) -> Thing:
    size = box["outside_mm"]
    outside: Triple = (size["x"], size["y"], size["z"])
    blocks = tuple(
        Solid(_triple(part["low_mm"]), _triple(part["high_mm"])) for part in box["outline"]
    )
    upright = box["keep_upright"]
    if "on_pallet" in box:
        outside, upright = _on_pallet(outside), True
    if blocks:
        _check_fills(outside, blocks, f"/boxes/{place}")
    carried = Carried(box["id"], outside, blocks, box.get("led_along"), upright)
    return Thing("Box", box["title"], carried, f"/boxes/{place}", box["id"])


def _on_pallet(outside: Triple) -> Triple:
    """The box on its pallet, the longer sides alike."""
    x, y, z = outside
    long, short = EN_13698_1.length_mm, EN_13698_1.width_mm
    base = (long, short) if x >= y else (short, long)
    return max(x, base[0]), max(y, base[1]), z + EN_13698_1.height_mm


def _check_fills(outside: Triple, blocks: Sequence[Solid], pointer: str) -> None:
    low = np.array([block.low_mm for block in blocks]).min(axis=0)
    high = np.array([block.high_mm for block in blocks]).max(axis=0)
    if np.abs(low).max() > 1e-6 or np.abs(high - np.array(outside)).max() > 1e-6:
        size = " x ".join(f"{side:g}" for side in (high - low))
        detail = f"The blocks together must fill the outside size; they span {size} mm."
        raise InvalidInputs([(f"{pointer}/outline", Fault("out-of-range", detail))])


def _check_names(inputs: Mapping[str, Any], sections: Sequence[Thing]) -> None:
    ids = {section.id for section in sections}
    faults = [
        (f"/protrusions/{k}/sections/{n}", Fault("unknown-reference", f"There is no section {id}."))
        for k, part in enumerate(inputs["protrusions"])
        for n, id in enumerate(part.get("sections", ()))
        if id not in ids
    ]
    faults += [
        (f"/keep_upright/{k}", Fault("unknown-reference", f"There is no section {id}."))
        for k, id in enumerate(inputs["keep_upright"])
        if id not in ids
    ]
    faults += [
        (f"/boxes/{k}/id", Fault("not-unique", f"{box['id']} already names a section."))
        for k, box in enumerate(inputs["boxes"])
        if box["id"] in ids
    ]
    if faults:
        raise InvalidInputs(faults)


def _triple(column: Any) -> Triple:
    x, y, z = (float(value) for value in column)
    return x, y, z
