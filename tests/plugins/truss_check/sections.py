"""Sections of the demo machine and plain boxes as models, built once."""

from functools import cache
from typing import Any

from baywright_plugins.frame import build_frame
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.kit import Kit, KitSchema
from baywright_plugins.truss_check.section import SectionModel, section_model
from tests.plugins.truss_check.wire import desk

KIT = Kit.from_inputs(KitSchema().load(desk("kit")))
EXPECTED = desk("expected")["expected"]


@cache
def model_of(section: str, plan: str = "changed") -> SectionModel:
    """A section of the demo machine, gravity 9.81 m/s2."""
    frame = build_frame(LayoutSchema().load(desk(plan)), KIT)
    number = [s.id for s in frame.sections].index(section)
    return section_model(frame.part(number), KIT, gravity_m_s2=9.81, buckling_margin=1.5)


def box_model(bays: tuple[int, int, int], **more: Any) -> SectionModel:
    """A box of R120 with R170 diagonals."""
    rods = {a: [{"rod": "R120", "count": n}] for a, n in zip("xyz", bays, strict=True)}
    layout = LayoutSchema().load({"sections": [{"id": "A", "rods": rods, **more}]})
    part = build_frame(layout, KIT).part(0)
    return section_model(part, KIT, gravity_m_s2=9.81, buckling_margin=1.5)
