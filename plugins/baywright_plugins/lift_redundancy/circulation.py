"""How many balls a machine holds while it runs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass


def balls_under_way(per_s: float, time_s: float) -> float:
    """Balls on a stretch that takes `time_s` to pass: rate x time.

    Source: J. D. C. Little, Operations Research 9 (1961), 383-387: L = lambda W.

    >>> balls_under_way(0.5, 40.0)
    20.0
    """
    return per_s * time_s


@dataclass(frozen=True)
class Circulation:
    """Balls in use, and how many to have at hand."""

    on_tracks: float
    on_lifts: float
    in_queue: float
    in_basin: float
    in_use: float
    needed: int
    order: int


def balls_in_circulation(
    per_s: float,
    paths: Sequence[tuple[float, float]],
    lift_transit_s: float,
    *,
    queue: float,
    basin: float,
    spares: float,
) -> Circulation:
    """Balls on tracks, lifts, in the queue at the foot and in the basin, and spares on top.

    Args:
        per_s: balls a second round the machine.
        paths: (transit_s, share) of each way from the top back to the foot.
        spares: share added for balls lost, swapped or in visitors' hands.

    Returns:
        `needed` rounds up what is in use; `order` rounds up that with spares.
    """
    tracks = balls_under_way(per_s, math.fsum(share * transit for transit, share in paths))
    lifts = balls_under_way(per_s, lift_transit_s)
    in_use = tracks + lifts + queue + basin
    needed = math.ceil(in_use - 1e-9)
    return Circulation(
        on_tracks=tracks,
        on_lifts=lifts,
        in_queue=queue,
        in_basin=basin,
        in_use=in_use,
        needed=needed,
        order=math.ceil(needed * (1.0 + spares) - 1e-9),
    )
