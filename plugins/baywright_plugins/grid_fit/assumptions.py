"""What an answer takes for granted, in words."""

from .answer_route import clearances_of
from .context import Context, Value


def assumptions(context: Context, value: Value) -> list[str]:
    """One sentence for each model that took part in the answer."""
    hub = context.kit.frame_hub
    lines = [
        f"A row closes where its misfit is at most the play of its rods, "
        f"{2 * hub.seat.play_mm:g} mm each way for one rod with its two seats.",
    ]
    if "sections" in value:
        lines.append(
            f"Outside sizes count the overhang of {hub.id} ({hub.overhang_mm:g} mm) at both ends."
        )
    if "passages" in value:
        room = clearances_of(context)
        lines += [
            f"Openings are less {room.each_side_mm:g} mm for hands at each side, "
            f"{room.above_mm:g} mm above and {room.lifted_mm:g} mm lifted (or the threshold, "
            "where that is higher).",
            "Sections go through straight, not slanting to the opening's plane and not turned "
            "half-way.",
        ]
    if "corners" in value:
        lines.append(
            f"Round a corner a carrier takes {room.carrier_each_end_mm:g} mm at each end of the "
            "longer side; no room for hands is taken off at its sides."
        )
    if "loops" in value:
        lines.append("Loops: only give along the rods is counted, no bending.")
    return lines
