"""What the model takes for granted and leaves out."""

from collections.abc import Mapping
from typing import Any

Given = Mapping[str, Any]


def assumptions(value: Given, inputs: Given) -> list[str]:
    """In the order of the ramp."""
    resistance = value["rolling_resistance"]
    kinds = {segment["kind"] for segment in inputs["segments"]}
    said = [
        f"Rolling resistance {resistance['min_ratio']:.4g} to {resistance['max_ratio']:.4g} of the "
        f"load: {resistance['origin']}. {resistance['how_to_measure']}",
        "Low and high are the slowest and the fastest ball over all ranges given. They are exact "
        "bounds of this model where balls roll; where one slides, or comes down on a slope, the "
        "corners tried are taken as bounds.",
        "Track stiff and straight, balls apart from one another, edges sharp. Rails that give, "
        "balls that push one another and dirt are left out; all of them make balls slower.",
    ]
    if any(support["kind"] in ("rails", "v-channel") for support in inputs["supports"]):
        said.append(
            "On two contacts both turn the ball and rub a little where it spins on them; that rub "
            "is left out. A rolling test on this very track has it: say measured_on this-track."
        )
    if kinds & {"joint", "ribs"}:
        said.append(
            "At joints the slowest ball is taken to hug every edge (most loss), the fastest to fly "
            "over what it can (least loss); bounce and slip there are left out."
        )
    if "curve" in kinds:
        said.append(
            "In a curve without guard the numbers after it go on as if a guard had held the ball. "
            "A guard rubs with sliding friction, least to most."
        )
    if kinds & {"crest", "dip", "loop"}:
        said.append(
            "Where a ball leaves a crest or loop the numbers after it go on as if it had stayed. "
            "Slip in a dip or loop is left out."
        )
    if "drop" in kinds:
        said.append(
            "Falls are without air; a slow ball tips about the end and falls beside it. After "
            "bouncing it goes on with its speed ahead, with or without grip for the bounce, and "
            "from the middle of where it lands."
        )
    if any(segment["slips"] != "never" for segment in value["segments"]):
        said.append("A ball that slid takes up rolling at once where it finds grip again.")
    return said
