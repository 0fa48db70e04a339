"""Everything that moves, at every passage: records for the result."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import CannotCalculate

from .effort import MOST_MS, effort_ms
from .journey import Turning, turnings
from .passing import (
    Crossing,
    RouteClearances,
    RoutePassage,
    clearances_from_inputs,
    cross,
    passages_from_inputs,
    stuck_at,
)
from .records import (
    Record,
    governing_record,
    library_records,
    opening_record,
    row_record,
    thing_record,
    turning_record,
)
from .things import Thing


@dataclass(frozen=True)
class Route:
    """The route and how each thing fares on it, as plain values."""

    passages: tuple[RoutePassage, ...]
    clearances: RouteClearances
    things: tuple[Thing, ...]
    crossings: tuple[tuple[Crossing, ...], ...]
    turnings: tuple[tuple[Turning, ...], ...]
    effort_ms: float

    @property
    def stuck(self) -> set[tuple[str, str]]:
        """(thing, passage) where it sticks."""
        return {
            (thing.id, crossing.passage)
            for thing, row in zip(self.things, self.crossings, strict=True)
            for crossing in row
            if not crossing.passes
        }


def stuck_cases(inputs: Mapping[str, Any], things: Sequence[Thing]) -> set[tuple[str, str]]:
    """(thing, passage) where something sticks, and nothing else: what a re-run has to show."""
    clearances = clearances_from_inputs(inputs.get("clearances"))
    passages = passages_from_inputs(inputs["passages"], clearances)
    return {
        (thing.id, stop)
        for thing in things
        for stop in stuck_at(thing.carried, passages, clearances)
    }


def route_of(inputs: Mapping[str, Any], things: Sequence[Thing]) -> Route:
    """Each thing led along the route. Raises CannotCalculate where that would take too long."""
    clearances = clearances_from_inputs(inputs.get("clearances"))
    passages = passages_from_inputs(inputs["passages"], clearances)
    effort = effort_ms((thing.carried for thing in things), passages)
    if effort > MOST_MS:
        share = MOST_MS / effort
        raise CannotCalculate(
            "/passages",
            f"{len(things)} things at {len(passages)} passages like these would take too long; "
            f"give about {math.floor(100 * share)} % of them at a time.",
        )
    crossings = tuple(cross(thing.carried, passages, clearances) for thing in things)
    turned = tuple(
        tuple(turnings(thing.carried, passages, row, clearances.above_mm))
        for thing, row in zip(things, crossings, strict=True)
    )
    return Route(passages, clearances, tuple(things), crossings, turned, effort)


def route_value(route: Route) -> Record:
    """The records of a route."""
    rows = [
        row_record(thing, crossings[k])
        for k in range(len(route.passages))
        for thing, crossings in zip(route.things, route.crossings, strict=True)
    ]
    by_passage = [
        rows[k * len(route.things) : (k + 1) * len(route.things)]
        for k in range(len(route.passages))
    ]
    return {
        "governing": governing_record(rows),
        "sections": [
            thing_record(*one)
            for one in zip(route.things, route.crossings, route.turnings, strict=True)
        ],
        "passages": rows,
        "openings": [
            opening_record(passage, route.clearances, mine)
            for passage, mine in zip(route.passages, by_passage, strict=True)
        ],
        "turnings": [
            turning_record(thing, turning)
            for thing, mine in zip(route.things, route.turnings, strict=True)
            for turning in mine
        ],
        "library": library_records(route.passages),
    }
