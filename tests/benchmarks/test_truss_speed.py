"""Speed of truss-check as ratios, so that the machine does not matter: `pytest -m benchmark -s`.

Numerics: from columns to member forces, displacements and reactions of seven load cases, the rank
of the geometry included, against openseespy building and analysing the same truss in the same run.
"""

import json
from collections.abc import Callable
from time import perf_counter
from typing import Any

import numpy as np
import openseespy.opensees as ops
import pytest

from baywright_plugins.truss_check.equilibrium import Truss
from baywright_plugins.truss_check.solve import LinearState
from baywright_plugins.truss_check.stability import stability_and_solver
from tests.plugins.truss_check.boxes import box_beam, held, wire

pytestmark = pytest.mark.benchmark

#: bays of a box beam -> members of about 100, 1,000, 7,000 and 40,000
SIZES = {100: 8, 1_000: 83, 7_000: 583, 40_000: 3_333}
CASES = 7
SYSTEMS = ("BandSPD", "SparseSYM", "UmfPack")


def beam_on_many_feet(bays: int) -> tuple[Truss, np.ndarray]:
    """A box beam with four feet every eight bays, as long machines stand, and seven load cases."""
    beam = box_beam(bays)
    fixed = np.zeros(beam["nodes_mm"].shape, dtype=bool)
    station = np.repeat(np.arange(bays + 1), 4)
    feet = (station % 8 == 0) & (beam["nodes_mm"][:, 2] == 0)
    fixed[feet] = True
    loads = np.random.default_rng(1).standard_normal((CASES, *fixed.shape))
    return held(beam, fixed), loads


def ours(truss: Truss, loads: np.ndarray) -> LinearState:
    fresh = Truss(
        truss.nodes_mm, truss.start, truss.end, truss.stiffness_n_per_mm, truss.fixed,
        truss.spring_n_per_mm,
    )  # fmt: skip
    held_fast, solver = stability_and_solver(fresh)
    assert solver is not None and held_fast.mechanisms == 0
    return solver.solve(loads)


def opensees(truss: Truss, loads: np.ndarray, system: str) -> tuple[float, float, np.ndarray]:
    """Seconds from columns to forces and displacements of all cases, seconds in its analyses
    alone, and the member forces of the last case."""
    begun = perf_counter()
    ops.wipe()
    ops.model("basic", "-ndm", 3, "-ndf", 3)
    for tag, place in enumerate(truss.nodes_mm.tolist()):
        ops.node(tag, *place)
    for tag in np.flatnonzero(truss.fixed.any(axis=1)).tolist():
        ops.fix(tag, *[int(x) for x in truss.fixed[tag]])
    rigidity = (truss.stiffness_n_per_mm * truss.length_mm).tolist()
    for tag, (a, b) in enumerate(zip(truss.start.tolist(), truss.end.tolist(), strict=True)):
        ops.uniaxialMaterial("Elastic", tag, rigidity[tag])
        ops.element("Truss", tag, a, b, 1.0, tag)
    analysing = 0.0
    for row, load in enumerate(loads):
        ops.timeSeries("Linear", row)
        ops.pattern("Plain", row, row)
        for tag, force in enumerate(load.tolist()):
            ops.load(tag, *force)
        start = perf_counter()
        ops.wipeAnalysis()
        ops.system(system)
        ops.numberer("RCM")
        ops.constraints("Plain")
        ops.integrator("LoadControl", 1.0)
        ops.algorithm("Linear")
        ops.analysis("Static")
        assert ops.analyze(1) == 0
        analysing += perf_counter() - start
        forces = np.array([ops.basicForce(tag)[0] for tag in range(len(truss.start))])
        np.array([ops.nodeDisp(tag) for tag in range(len(truss.nodes_mm))])
        if row < CASES - 1:
            ops.reset()
            ops.remove("loadPattern", row)
    spent = perf_counter() - begun
    ops.wipe()
    return spent, analysing, forces


def best_of(count: int, call: Callable[[], Any]) -> float:
    times = []
    for _ in range(count):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return min(times)


@pytest.mark.parametrize("members", SIZES)
def test_numerics_against_openseespy(members: int, record_property: Any) -> None:
    """At least five times faster than openseespy from 1,000 members."""
    truss, loads = beam_on_many_feet(SIZES[members])
    state = ours(truss, loads)
    runs = {
        name: min((opensees(truss, loads, name) for _ in range(3)), key=lambda run: run[0])
        for name in SYSTEMS
    }
    spent, analysing, forces = min(runs.values(), key=lambda run: run[0])
    assert state.member_force_n[-1] == pytest.approx(forces, abs=1e-6 * np.abs(forces).max())
    repeat = 5 if members > 10_000 else 30
    mine = best_of(repeat, lambda: ours(truss, loads))
    record_property("ratio", spent / mine)
    record_property("ratio_of_analyses", min(run[1] for run in runs.values()) / mine)
    quickest = min(runs, key=lambda name: runs[name][0])
    print(
        f"\n{len(truss.start)} members: ours {mine * 1e3:.1f} ms with rank; openseespy "
        f"({quickest}) {spent * 1e3:.1f} ms, {spent / mine:.1f} times; its analyses alone "
        f"{min(run[1] for run in runs.values()) / mine:.1f} times"
    )
    if members >= 1_000:
        assert spent / mine >= 5.0


@pytest.mark.parametrize("limits", [False, True], ids=["linear", "default"])
def test_share_of_a_request_outside_numerics(
    client: Any, limits: bool, record_property: Any
) -> None:
    """7,000 members, 7 load cases through HTTP: reading, checking and writing JSON take less
    than half of a default request, which bounds collapse as well; a linear one is mostly JSON."""
    truss, loads = beam_on_many_feet(SIZES[7_000])
    body = wire(truss, loads)
    if limits:
        count = len(truss.start)
        body["structure"]["members"] |= {
            "tension_n": [60.0] * count,
            "compression_n": [300.0] * count,
        }
    else:
        body["analyses"] = ["linear"]
    text = json.dumps(body)
    start = perf_counter()
    response = client.post(
        "/v1/calculators/truss-check/run", data=text, content_type="application/json"
    )
    spent = perf_counter() - start
    assert response.status_code == 200, response.get_data()[:500]
    timing = {
        part.split(";")[0].strip(): float(part.split("dur=")[1]) / 1e3
        for part in response.headers["Server-Timing"].split(",")
    }
    inside = timing["calculate"]
    share = 1 - inside / spent
    record_property("share_outside", share)
    print(
        f"\n{len(text) / 1e6:.1f} MB: {spent:.2f} s, calculate {inside:.2f} s, outside {share:.0%}"
    )
    if limits:
        assert share < 0.5
