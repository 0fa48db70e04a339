"""What a frame weighs, and where."""

import numpy as np

from ..kit import Kit
from .model import Floats, Frame


def node_masses_kg(frame: Frame, kit: Kit) -> Floats:
    """Mass at each node, shape (n,): half of each rod to each end, one hub, fittings.

    Fittings are spread equally over all nodes of their levels. Rods of joints count at both of
    their ends, so that a section taken alone (`Frame.part`) weighs what it is carried with.

    Leaves out: balls, and hubs of other kinds than the frame's.
    """
    rod_kg = np.array([rod.mass_g for rod in kit.rods]) / 1000.0
    half = rod_kg[frame.rod] / 2.0
    nodes = len(frame.nodes_mm)
    mass = np.full(nodes, kit.frame_hub.mass_g / 1000.0)
    mass += np.bincount(frame.start, half, nodes) + np.bincount(frame.end, half, nodes)
    for number, section in enumerate(frame.sections):
        if section.bays is None:
            continue
        for _, kilograms, levels in section.fittings:
            wanted = [level % (section.bays[2] + 1) for level in levels]
            mine = (frame.node_section == number) & np.isin(frame.lattice[:, 2], wanted)
            if mine.any():
                mass[mine] += kilograms / mine.sum()
    return mass


def centre_of_mass_mm(frame: Frame, masses_kg: Floats) -> Floats:
    """Centre of mass of the nodes, shape (3,)."""
    return np.asarray(masses_kg @ frame.nodes_mm / masses_kg.sum())
