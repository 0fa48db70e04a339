"""Whether nodes move so far that the calculation, which is one of small movements, loses sense."""

import numpy as np

from baywright_service.contract import Finding, Measure

from .numerals import figures
from .structure_check import StructureAnswer

#: Share of its own size beyond which a structure no longer keeps its shape under load.
SMALL = 0.05


def movement_findings(answer: StructureAnswer) -> list[Finding]:
    """A finding for the load case that moves a node farthest, where that is not small: watch
    above a twentieth of the structure's size, stop above the whole of it.

    Common practice, no source: small-displacement theory up to a few percent of the size.
    """
    linear = answer.linear
    if linear is None or not len(linear.displacement_mm):
        return []
    size = float(np.ptp(answer.structure.truss.nodes_mm, axis=0).max())
    far = np.sqrt((linear.displacement_mm**2).sum(axis=2))
    case, node = np.unravel_index(int(far.argmax()), far.shape)
    moved = float(far[case, node])
    if not moved > SMALL * size:
        return []
    beyond = moved > size
    return [
        Finding(
            "movement-not-small",
            "stop" if beyond else "watch",
            f"Node {node} moves {figures(moved)} mm in {answer.structure.case_ids[case]}; the "
            f"whole structure is {figures(size)} mm large. Forces and movements hold for small "
            "movements only: check axial_stiffness_n and forces, or brace it.",
            (f"/structure/load_cases/{case}",),
            Measure(moved, SMALL * size, "mm"),
        )
    ]
