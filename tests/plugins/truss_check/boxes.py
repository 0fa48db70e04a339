"""Box beams and random trusses to try numerics on."""

from typing import Any

import numpy as np

from baywright_plugins.kit import seated_stiffness_n_per_mm
from baywright_plugins.truss_check.equilibrium import Truss

BAY = 120.0
#: R120 and R170 of 8 mm beech, both seats 250 N/mm.
AXIAL = 12000 * np.pi * 8**2 / 4
K_AXIS = seated_stiffness_n_per_mm(120.0, AXIAL, 250.0)
K_DIAGONAL = seated_stiffness_n_per_mm(169.6, AXIAL, 250.0)


def box_beam(bays: int, *, cross: set[int] | None = None) -> dict[str, Any]:
    """A box beam along x with one diagonal a face that turns from bay to bay, opposite faces
    mirrored, and a cross diagonal at each station of `cross` (left out: at both ends)."""
    corners = ((0, 0), (1, 0), (1, 1), (0, 1))
    nodes = [[i * BAY, y * BAY, z * BAY] for i in range(bays + 1) for y, z in corners]
    rows: list[tuple[int, int, float]] = []
    for i in range(bays + 1):
        o = 4 * i
        rows += [(o + q, o + (q + 1) % 4, K_AXIS) for q in range(4)]
        if i in ({0, bays} if cross is None else cross):
            rows.append((o, o + 2, K_DIAGONAL))
        if i < bays:
            rows += [(o + q, o + 4 + q, K_AXIS) for q in range(4)]
            for q in range(4):
                a, b = q, (q + 1) % 4
                rising = (i + q) % 2 == 0
                pair = (o + a, o + 4 + b) if rising else (o + b, o + 4 + a)
                rows.append((*pair, K_DIAGONAL))
    table = np.array(rows)
    return {
        "nodes_mm": np.array(nodes),
        "start": table[:, 0].astype(np.int64),
        "end": table[:, 1].astype(np.int64),
        "stiffness_n_per_mm": table[:, 2],
    }


def held(beam: dict[str, Any], fixed: Any, spring: Any = None) -> Truss:
    """The beam as a truss with these fixed directions (n, 3)."""
    none = np.zeros(beam["nodes_mm"].shape)
    return Truss(**beam, fixed=fixed, spring_n_per_mm=none if spring is None else spring)


def cantilever(bays: int) -> Truss:
    """A box beam built in at its first station."""
    beam = box_beam(bays)
    fixed = np.zeros(beam["nodes_mm"].shape, dtype=bool)
    fixed[:4] = True
    return held(beam, fixed)


def wire(truss: Truss, loads: Any) -> dict[str, Any]:
    """A request for the truss under loads (c, n, 3)."""
    return {
        "structure": {
            "nodes_mm": truss.nodes_mm.tolist(),
            "members": {
                "start": truss.start.tolist(),
                "end": truss.end.tolist(),
                "axial_stiffness_n": (truss.stiffness_n_per_mm * truss.length_mm).tolist(),
            },
            "supports": [
                {"node": int(n), "fixed": [a for a, held in zip("xyz", row, strict=True) if held]}
                for n, row in enumerate(truss.fixed)
                if row.any()
            ],
            "load_cases": [
                {
                    "id": f"case {k}",
                    "forces": [
                        {"node": int(n), "n": row.tolist()}
                        for n, row in enumerate(load)
                        if row.any()
                    ],
                }
                for k, load in enumerate(np.asarray(loads))
            ],
        }
    }
