"""What the answer takes for granted, in words."""

from collections.abc import Mapping
from typing import Any

from .study import Study
from .wording import routing


def assumptions_of(study: Study, inputs: Mapping[str, Any]) -> list[str]:
    lines = study.machine.indices("line")
    said = [
        "Settled rates take balls as a fluid: what waits by chance is seen in the simulation only. "
        "A place passes what comes, up to its capacity; a full place sends the rest where it "
        "overflows, and never holds back the place before it.",
    ]
    if study.runs:
        words = " and ".join(routing(runs.routing) for runs in study.runs)
        said.append(
            f"Simulated with balls parting {words}; in strict rotation the chains' hooks are "
            "evenly staggered and every fill and split follows its share exactly. Means carry 95 % "
            "intervals by Student's t, shares by Wilson's score."
        )
    if study.machine.indices("lift"):
        said.append(
            "A lift takes a ball only when a hook passes its foot; a stopped lift keeps its balls "
            "on the hooks, and they come up that much later. Where several lifts take from one "
            "line, the hook that passes first takes the ball."
        )
    if lines and any(
        study.machine.places[k].standing > 0.0 for k in range(len(study.machine.places))
    ):
        said.append(
            "The balls that usually wait and those in the basin always lie there: they are "
            "counted, "
            "and what gathers comes on top of them."
        )
    if any(runs.struck for runs in study.runs):
        said.append(
            "It is back to usual when, from then on, no more balls wait than in any run without a "
            "stop, and no fewer pass the top in the time of one round. Balls off the machine stay "
            "off unless put_back_s says how fast they are "
            "put back, once all lifts run. The peak beyond the usual is that of a line with room "
            "for all."
        )
        if inputs["random_failures"]:
            said.append(
                "Lifts stop at random times, exponential running and mending times, each mended "
                "at once; lifts on one motor or supply stop together."
            )
    return said
