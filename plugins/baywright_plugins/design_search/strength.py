"""Strength and hubs of section shapes: built once, checked once, whatever machines they are in."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from baywright_service.contract import CannotCalculate, Inputs

from ..fit_remedies.listed_diagonals import as_loaded
from ..part_count.hub_kinds import DIRECTIONS, UsedPorts, node_classes, used_ports
from ..truss_check.frame_check import (
    Prepared,
    SectionAnswer,
    check_sections,
    handling_of,
    prepare,
)
from ..truss_check.handling import LEANING
from ..truss_check.schemas import TrussCheckInputs
from .folding import mechanisms_at_least
from .problem import Problem
from .shapes import Drawings, Shape

Ints = NDArray[np.int64]

#: Lean of a rod from its port that part-count allows where nothing else is said.
PORT_TOLERANCE_DEG = 2.0

_AHEAD, _BEHIND = (1 << DIRECTIONS.index((x, 0, 0)) for x in (1, -1))


@dataclass(frozen=True)
class Held:
    """`reserve`: least factor of first slip over what is wanted, over all cases that count.

    `mechanisms` above 0: it folds in at least so many ways, and nothing else is known.
    `undecided` says why nothing could be worked out.
    """

    reserve: float
    case: str = ""
    factor: float = 0.0
    required: float = 0.0
    mechanisms: int = 0
    undecided: str = ""


@dataclass(frozen=True)
class _Built:
    prepared: Prepared
    ports: UsedPorts
    lattice: Ints


class Bench:
    """Builds and checks shapes, each once; `checked` counts them."""

    def __init__(self, problem: Problem, drawings: Drawings) -> None:
        self._problem, self._drawings = problem, drawings
        self._given = _strength_inputs(problem)
        self._built: dict[Shape, _Built] = {}
        self._held: dict[Shape, Held] = {}
        self._classes: dict[tuple[Shape, int, int], dict[tuple[int, ...], int]] = {}
        self._kinds = [hub for hub in problem.kit.hubs if hub.role == "frame"]

    @property
    def checked(self) -> int:
        """Shapes whose strength was worked out."""
        return len(self._held)

    def knows(self, shape: Shape) -> bool:
        """Whether nothing more must be worked out for it."""
        return shape in self._held

    def built(self, shape: Shape) -> bool:
        return shape in self._built

    def too_weak(self, shape: Shape) -> bool:
        """Whether it is known that it will not do."""
        return shape in self._held and self._held[shape].reserve < 1.0

    def mass_kg(self, shape: Shape) -> float:
        """Mass of a section with its fittings, coupling rods left out."""
        return float(self._build(shape).prepared.model.mass_kg.sum())

    def classes(self, shape: Shape, behind: int, ahead: int) -> dict[tuple[int, ...], int]:
        """Nodes of a section by the frame hubs of the kit that can stand there (places among
        them, in their order); the key () counts those where none can.

        `behind` and `ahead`: bays in height of the lower of the two sections at the joint on
        either side along x, 0 where there is none.
        """
        key = (shape, behind, ahead)
        if key not in self._classes:
            built = self._build(shape)
            used = built.ports.used.copy()
            for bays, station, bit in ((behind, 0, _BEHIND), (ahead, shape.bays[0], _AHEAD)):
                if bays:
                    used[_coupled(built.lattice, shape, station, bays)] |= bit
            ports = UsedPorts(used, built.ports.missed, built.ports.doubled)
            found: dict[tuple[int, ...], int] = {}
            for one in node_classes(ports, self._kinds):
                found[one.fits] = found.get(one.fits, 0) + len(one.nodes)
            self._classes[key] = found
        return self._classes[key]

    def held(self, shape: Shape) -> Held:
        """What the strength check says of a shape."""
        if shape not in self._held:
            self._held[shape] = self._check(shape)
        return self._held[shape]

    def _build(self, shape: Shape) -> _Built:
        if shape not in self._built:
            given = dict(self._given)
            section = as_loaded({**self._drawings.spec(shape), "id": "S"})
            given["frame"] = {"layout": {"title": "", "sections": [section], "joints": []}}
            (prepared,) = prepare(given, self._problem.kit)
            part = prepared.model.part
            ports = used_ports(
                part.nodes_mm, part.start, part.end, tolerance_deg=PORT_TOLERANCE_DEG
            )
            self._built[shape] = _Built(prepared, ports, part.lattice)
        return self._built[shape]

    def _check(self, shape: Shape) -> Held:
        built = self._build(shape)
        folds = mechanisms_at_least(built.prepared.model.part)
        if folds:
            return Held(0.0, mechanisms=folds)
        try:
            (answer,) = check_sections(
                [built.prepared], self._given, self._problem.kit, with_limits=False
            )
        except CannotCalculate as refusal:
            return Held(0.0, undecided=refusal.reason)
        if answer.held.mechanisms:
            return Held(0.0, mechanisms=answer.held.mechanisms)
        return _least(answer, self._given)


def _coupled(lattice: Ints, shape: Shape, station: int, bays: int) -> NDArray[np.bool_]:
    """Nodes that coupling rods end at: as `frame.joints.coupled` chooses them."""
    found = lattice[:, 0] == station
    for axis, last in ((1, shape.bays[1]), (2, bays)):
        found &= np.isin(lattice[:, axis], [0, 1, last - 1, last])
    return np.asarray(found)


def _least(answer: SectionAnswer, given: Mapping[str, Any]) -> Held:
    handling = handling_of(given)
    guarded = given.get("travel", {}).get("leaning", {}).get("guarded", False)
    rows = [
        (state.factor / handling.required(state.case.kind), k)
        for k, state in enumerate(answer.states)
        if not (guarded and state.case.topic == LEANING)
    ]
    finite = [row for row in rows if np.isfinite(row[0])]
    if not finite:
        return Held(0.0, undecided="no case that was asked for loads it")
    reserve, place = min(finite)
    state = answer.states[place]
    return Held(
        float(reserve), state.case.title, float(state.factor), handling.required(state.case.kind)
    )


def _strength_inputs(problem: Problem) -> dict[str, Any]:
    """The strength check's own inputs, validated by its schema; the frame is put in later."""
    one_rod = {"start": [0], "end": [1], "rod": ["-"]}
    body = {
        **strength_body(problem.inputs),
        "kit": problem.inputs.raw["kit"],
        "frame": {"nodes_mm": [[0, 0, 0], [1, 0, 0]], "members": one_rod},
    }
    loaded: dict[str, Any] = TrussCheckInputs().load(body)
    return loaded


def strength_body(inputs: Inputs) -> dict[str, Any]:
    """What the strength check is told beside kit and frame, as on the wire."""
    loads = inputs.raw.get("strength", {})
    body: dict[str, Any] = {"gravity_m_s2": inputs["gravity_m_s2"]}
    for name in ("handling", "partial_factors", "buckling_margin_ratio"):
        if name in loads:
            body[name] = loads[name]
    travel = {name: loads[name] for name in ("resting", "leaning") if name in loads}
    return {**body, "travel": travel} if travel else body
