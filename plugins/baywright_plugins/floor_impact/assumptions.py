"""What the answer rests on and leaves out, in words."""

from collections.abc import Mapping
from typing import Any

from .panel_spec import PanelSpec


def assumptions(inputs: Mapping[str, Any], spec: PanelSpec) -> list[str]:
    """Sentences for this question."""
    said = [
        "Force at least: ball and panel take one speed and what that loses is lost, or the softest "
        "dent takes its share. At most: nothing is lost. Utilisation at most is the larger of "
        "that and of the swing followed in all shapes, with the least damping and a perfectly "
        "springy dent; supports and deck are taken to hold upward too.",
        "Only the first ball counts: one that meets a panel still swinging, balls lying on it, "
        "and fatigue of rods, seats and deck are left out; friction that pushes rods sideways too.",
        "Rods are straight and seats spring the same way both ways; play, slip during the hit, "
        "force across a seat and twist of rods are left out.",
        "Trusses on edge are held upright by others; tie them sideways.",
        f"The reserve of {inputs['reserve_ratio']:g} is on seats alone; rods are held to bending "
        f"strength {inputs['panel']['rod_bending_strength_n_per_mm2']:g} and shear strength "
        f"{inputs['panel']['rod_shear_strength_n_per_mm2']:g} N/mm2 as given (40 and 4 are design "
        f"values for clear hardwood, from memory).",
        "Of changes at most six are worked through, three for panels of more than 12 bays; a panel "
        "has at most 24 bays.",
        "Touch force at most is that on a target that does not move and does not yield; wood and "
        "plastic dent instead, and it falls toward the lower bound.",
    ]
    if "seat_moment_n_mm" not in inputs["panel"]:
        said.append(
            f"Bending moment of a seat guessed as pull-out times half the rod's diameter, "
            f"{spec.seat.moment_n_mm:.0f} N mm: hang a weight on the end of a rod to measure it."
        )
    if spec.seat.turning_n_mm_rad <= 0:
        said.append("Hubs turn freely: each truss on edge takes a hit alone.")
    if spec.deck is not None:
        said.append(
            "The deck is one sheet that lies on hubs and rods without being fixed; it cannot lift "
            "off them in the sums, and its own strength is left to the drop test."
        )
    if inputs["panel"]["supports"]["rests_on"] == "net" or "slowing" in inputs:
        said.append("Net and felt push as straight springs; real felt stiffens as it is pressed.")
    return said
