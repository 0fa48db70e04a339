"""What an answer takes for granted, in words."""

from .answer import Route
from .passage import USUAL_REVEAL_MM


def assumptions(route: Route) -> list[str]:
    """One sentence for each model that took part in the answer."""
    room, passages = route.clearances, route.passages
    outlines = any(not thing.carried.is_box for thing in route.things)
    lines = [
        "The tape measure decides: every size is taken as given, at its narrowest, with the door "
        "held open and its leaf folded right back."
    ]
    if any(p.doorway for p in passages):
        lines += [
            f"Openings are less {room.each_side_mm:g} mm for hands at each side, "
            f"{room.above_mm:g} mm above and {room.lifted_mm:g} mm lifted (or the threshold, "
            "where that is higher).",
            "Things go through straight, leaning or not, but neither slanting to the opening's "
            "plane nor turned half-way; some that this says stick can be threaded through.",
        ]
    if any(p.inside for p in passages):
        lines.append("Inside a lift, van or trailer a thing stands as it came in, not turned.")
    if any(p.doorway and (p.doorway.before_mm or p.doorway.behind_mm) for p in passages):
        if any(p.doorway and p.doorway.reveal_mm is None for p in passages):
            lines.append(
                f"Where nobody measured the wall it is taken as {USUAL_REVEAL_MM:g} mm deep for "
                "turning into a door (common practice, no source)."
            )
        lines.append(
            "Turning into a door: one sweep from a passage that goes on past it (where it ends "
            "there, give a corner instead), exact for boxes from one side; with passages on both "
            "sides, or hardware in the opening, conservative."
        )
    if any(p.corridors_mm for p in passages):
        lines.append(
            f"Round a corner a carrier takes {room.carrier_each_end_mm:g} mm at each end of the "
            "longer side; no room for hands is taken off at its sides. Exact for boxes in one "
            "sweep or slide; between two corners a thing must lie in its corridor whole."
        )
    if any(p.flight for p in passages):
        lines += [
            f"On stairs {room.stairs_each_side_mm:g} mm are kept free at each side, "
            f"{room.stairs_lifted_mm:g} mm over the step edges and {room.stairs_above_mm:g} mm "
            "above, both plumb (common practice, no source); the ceiling runs parallel to the "
            "flight at its lowest headroom; handrails do not give way.",
            "On landings the next flight is as wide as the first and joins it without a gap; "
            "carrying over a handrail is left out.",
        ]
    if outlines:
        lines.append(
            "True outlines count block by block in openings and as their convex hull when leaning "
            "or round one corner, whichever way it turns; elsewhere as the box around them. They "
            "are conservative: what this passes goes through."
        )
    if any(p.kind == "stairs" and p.flight is None for p in passages):
        lines.append("Stairs without going, rise and headroom count as an opening only.")
    return lines
