"""What tests of the build order start from."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.frame import Frame, frame_of
from baywright_plugins.kit import Kit
from baywright_plugins.part_count import PartCount
from baywright_plugins.part_count.examples import KIT
from baywright_plugins.part_count.structure import SectionParts, section_parts
from tests.plugins.part_count.conftest import DATA, read

PUBLISHED = {case["id"]: case for case in read(DATA / "published" / "build_hours.json")}


def box(name: str, x: int, y: int, z: int, **more: Any) -> dict[str, Any]:
    """A section of so many bays, a beam along every edge."""
    rods = {axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (x, y, z), strict=True)}
    return {"id": name, "rods": rods, **more}


@pytest.fixture(scope="session")
def framed() -> Callable[..., tuple[Frame, Kit, list[SectionParts]]]:
    """The frame, kit and bays of a layout, with the kit of the examples or another."""

    def build(layout: Any, kit: Any = KIT) -> tuple[Frame, Kit, list[SectionParts]]:
        inputs = PartCount().load({"kit": kit, "frame": {"layout": layout}})
        known = Kit.from_inputs(inputs["kit"])
        frame = frame_of(inputs["frame"], known)
        return frame, known, section_parts(frame, inputs["frame"]["layout"])

    return build
