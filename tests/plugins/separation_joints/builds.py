"""Sections and machines that tests are made of."""

from copy import deepcopy
from typing import Any

from baywright_plugins.frame import Frame, frame_of
from baywright_plugins.frame.schemas import LayoutFrameSchema
from baywright_plugins.kit import Kit, KitSchema
from baywright_plugins.separation_joints import SeparationJoints
from baywright_plugins.separation_joints.examples import KIT
from baywright_service.contract import Result

Json = dict[str, Any]
CALCULATOR = SeparationJoints()


def section(name: str, x: int, y: int, z: int, **more: Any) -> Json:
    """A box section of bays of R120, alternating single diagonals unless more says otherwise."""
    rods = {a: [{"rod": "R120", "count": n}] for a, n in zip("xyz", (x, y, z), strict=True)}
    return {"id": name, "rods": rods, "side_faces": {"default": "alternating"}, **more}


def machine(*sections: Json, axis: str = "x", rod: str = "R60", **more: Any) -> Json:
    """Inputs for sections in a row, each coupled to the next."""
    ids = [s["id"] for s in sections]
    joints = [
        {"between": [a, b], "axis": axis, "rod": rod}
        for a, b in zip(ids[:-1], ids[1:], strict=True)
    ]
    layout = {"sections": list(sections), "joints": joints}
    return deepcopy({"kit": KIT, "frame": {"layout": layout}, **more})


def explicit(nodes: Any, members: Any, sections: list[str], rod: str = "R120") -> Json:
    """Inputs for a frame given rod by rod."""
    return {
        "kit": KIT,
        "frame": {
            "nodes_mm": [[float(x) for x in node] for node in nodes],
            "members": {
                "start": [int(a) for a, _ in members],
                "end": [int(b) for _, b in members],
                "rod": [rod] * len(members),
                "section": sections,
            },
        },
    }


def run(inputs: Json, *, bare: bool = False) -> Result:
    """The result for inputs; `bare` without a search for remedies."""
    return CALCULATOR.calculate(CALCULATOR.load(inputs, proving=bare))


def frame_and_kit(inputs: Json) -> tuple[Frame, Kit]:
    """The frame of a layout, without the calculator."""
    kit = Kit.from_inputs(KitSchema().load(inputs["kit"]))
    return frame_of(LayoutFrameSchema().load(inputs["frame"]), kit), kit


def codes(result: Result, *levels: str) -> list[str]:
    """Finding codes of some levels, all without."""
    return [f.code for f in result.findings if not levels or f.level in levels]


def finding(result: Result, code: str) -> Any:
    """The first finding of a code."""
    return next(f for f in result.findings if f.code == code)
