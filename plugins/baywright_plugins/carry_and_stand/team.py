"""What people lift together, and how they divide over the two ends of a section."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

#: Share of the sum of single capabilities that a team bears. No share is published for four.
TEAM_SHARE = {1: 1.0, 2: 2.0 / 3.0, 3: 0.5}
MOST_IN_TEAM = 4

#: Heights of a grown person's body that part the guide's figure, mm; from memory, rounded.
LOWER_LEG_MM, KNUCKLE_MM, ELBOW_MM, SHOULDER_MM = 250.0, 750.0, 1050.0, 1400.0

#: Filter values close to the body, kg, by zone of the hands.
FILTER_KG = {
    "below mid lower leg": (10.0, 7.0),
    "lower leg to knuckle": (20.0, 13.0),
    "knuckle to elbow": (25.0, 16.0),
    "elbow to shoulder": (20.0, 13.0),
    "above shoulder": (10.0, 7.0),
}
ZONES = tuple(FILTER_KG)
_EDGES = (LOWER_LEG_MM, KNUCKLE_MM, ELBOW_MM, SHOULDER_MM)


def zone_of(hands_mm: float) -> str:
    """The zone of the figure that hands at this height are in; a boundary belongs to the zone
    nearer the knuckle. Source: HSE INDG143, Figure 1 (heights of the body: assumption)."""
    if hands_mm < LOWER_LEG_MM:
        return ZONES[0]
    if hands_mm < KNUCKLE_MM:
        return ZONES[1]
    return next((ZONES[k] for k in (2, 3) if hands_mm <= _EDGES[k]), ZONES[4])


def capability_kg(best_kg: float, zone: str) -> float:
    """What someone who bears `best_kg` at knuckle height bears in a zone.

    The two people of the figure (25 and 16 kg) by its numbers; anyone else by the lower of the
    two ratios. Source: HSE INDG143, Figure 1 (from memory).
    """
    men, women = FILTER_KG[zone]
    for best, value in ((25.0, men), (16.0, women)):
        if best_kg == best:
            return value
    return best_kg * min(men / 25.0, women / 16.0)


def reduced_by(twist_deg: float, per_min: float) -> float:
    """Share of the filter values lost by turning and by pace, both together.

    Turning beyond 45 degrees 10 %, beyond 90 degrees 20 %; above 30 an hour 30 %, from 5 a minute
    50 %, above 12 a minute 80 %.
    Source: HSE INDG143 (leaflet; the paces from 5 a minute on from memory).
    """
    turning = 0.2 if twist_deg >= 90.0 else 0.1 if twist_deg >= 45.0 else 0.0
    pace = 0.8 if per_min > 12 else 0.5 if per_min >= 5 else 0.3 if per_min > 0.5 else 0.0
    return 1.0 - (1.0 - turning) * (1.0 - pace)


def team_kg(single_kg: Sequence[float]) -> float | None:
    """What one, two or three people bear together; None for more, where no share is published.

    Source: HSE guidance on the Manual Handling Operations Regulations (L23), team handling.

    >>> round(team_kg([16, 25]), 1)
    27.3
    """
    share = TEAM_SHARE.get(len(single_kg))
    return None if share is None else share * float(sum(single_kg))


@dataclass(frozen=True)
class Ends:
    """Who stands at which end (places in the crew), and the fullest of all limits (1: at it)."""

    low: tuple[int, ...]
    high: tuple[int, ...]
    used_ratio: float


def at_the_ends(
    low_kg: float,
    high_kg: float,
    low_caps_kg: Sequence[float],
    high_caps_kg: Sequence[float],
    *,
    share_at_ends: bool,
) -> Ends | None:
    """The best way for all of two or three people to divide over both ends.

    Used to the full are: the team's share of the sum of capabilities by the whole load, and each
    end's people by their end's load, where `share_at_ends` says that the team's share counts for
    an end too. Every division is tried. None for other team sizes.

    Args:
        low_kg, high_kg: loads of the ends. low_caps_kg, high_caps_kg: capability of each of the
        team at either end.

    Source: HSE L23 (shares); limits of the ends are common practice, no source.
    """
    people = len(low_caps_kg)
    if people not in (2, 3):
        return None
    share = TEAM_SHARE[people]
    best: Ends | None = None
    for count in range(1, people):
        for low in combinations(range(people), count):
            high = tuple(k for k in range(people) if k not in low)
            low_sum = sum(low_caps_kg[k] for k in low)
            high_sum = sum(high_caps_kg[k] for k in high)
            at_end = share if share_at_ends else 1.0
            used = max(
                (low_kg + high_kg) / (share * (low_sum + high_sum)),
                low_kg / (at_end * low_sum),
                high_kg / (at_end * high_sum),
            )
            if best is None or used < best.used_ratio - 1e-12:
                best = Ends(low, high, used)
    return best
