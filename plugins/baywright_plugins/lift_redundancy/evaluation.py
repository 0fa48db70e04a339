"""One machine in four numbers, from its inputs alone: what improvements are held against."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from . import study
from .chain_study import chain_result
from .circuit import circuit_of, lifts_of
from .deeper_study import enough_in, has_times, mending_order, short_by
from .failure_states import all_states

MOST_FOLLOWED = 1024  # states times tracks; above it, spills are left out


@dataclass(frozen=True)
class Measures:
    """`availability`: share of time the flow is met, with the crews; the rest is for a day."""

    availability: float
    minutes_short: float
    lost_balls: float
    spills: float | None

    def as_result(self) -> dict[str, Any]:
        found = {
            "availability_ratio": self.availability,
            "minutes_short_min": self.minutes_short,
            "lost_balls": self.lost_balls,
        }
        return found if self.spills is None else found | {"spills_per_day": self.spills}


def measures_of(inputs: Mapping[str, Any]) -> Measures | None:
    """The whole study of the states again; None where some times are not known.

    Spills count stops that last until the return lane overflows, each from the usual queue on.

    Raises:
        CannotCalculate, ValueError: what the study itself raises.
    """
    chain = None
    if "chain" in inputs:
        chain = chain_result(inputs["chain"], inputs["gravity_m_s2"])
    lifts = lifts_of(inputs, None if chain is None else chain.get("hooks_per_min"))
    circuit = circuit_of(inputs, lifts)
    space = all_states(circuit.units)
    follow = len(space.stopped) * len(inputs.get("paths", [])) <= MOST_FOLLOWED
    transit_s = study.lift_transit(inputs, chain) if follow else None
    flows = study.state_flows(circuit, space, inputs, transit_s)
    order = mending_order(inputs, space, flows)
    crews, hours = inputs["repair_crews_count"], inputs["hours_per_day_h"]
    shares = study.shares_of(space, crews, order)
    if shares is None:
        return None
    share, enough = shares.with_crews, enough_in(flows)
    short = float(share[~enough].sum())
    lost = float(share @ short_by(flows, inputs.get("required_balls_per_min")))
    spills = None
    if has_times(space) and all(flow.gathering is not None for flow in flows):
        rates = study.rates_in(space, crews, order)
        leaving = np.bincount(rates.source, rates.per_h, len(flows))
        lasts_h = np.array([_overflow_h(flow) for flow in flows])
        over = np.isfinite(lasts_h)
        begun = share[over] * leaving[over]
        spills = float((begun * np.exp(-leaving[over] * lasts_h[over])).sum()) * hours
    return Measures(
        availability=min(float(share[enough].sum()), 1.0),
        minutes_short=short * hours * 60.0,
        lost_balls=lost * hours * 60.0,
        spills=spills,
    )


def _overflow_h(flow: study.StateFlow) -> float:
    if flow.gathering is None or flow.gathering.overflow_s is None:
        return math.inf
    return flow.gathering.overflow_s / 3600.0
