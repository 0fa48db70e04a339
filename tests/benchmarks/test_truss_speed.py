"""Speed of truss-check as ratios, so that the machine does not matter: `pytest -m benchmark -s`.

Numerics: from columns to member forces, displacements and reactions of seven load cases, the rank
of the geometry included, against openseespy building and analysing the same truss in the same run.
"""

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from time import perf_counter
from typing import Any

import numpy as np
import openseespy.opensees as ops
import pytest
import requests
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.sparse import csc_array, csr_array
from scipy.sparse.csgraph import reverse_cuthill_mckee
from scipy.sparse.linalg import splu

from baywright_plugins.kit import Kit
from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.equilibrium import Truss, equilibrium_matrix
from baywright_plugins.truss_check.frame_check import check_sections, prepare
from baywright_plugins.truss_check.many import solve_variants
from baywright_plugins.truss_check.solve import LinearState
from baywright_plugins.truss_check.stability import stability_and_solver
from baywright_plugins.truss_check.structure_check import check_structure, structure_of
from baywright_service.server import RunningServer, start
from baywright_service.settings import Settings
from tests.plugins.truss_check.boxes import box_beam, held, wire
from tests.plugins.truss_check.wire import desk

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
        begun_case = perf_counter()
        ops.wipeAnalysis()
        ops.system(system)
        ops.numberer("RCM")
        ops.constraints("Plain")
        ops.integrator("LoadControl", 1.0)
        ops.algorithm("Linear")
        ops.analysis("Static")
        assert ops.analyze(1) == 0
        analysing += perf_counter() - begun_case
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
        begun = perf_counter()
        call()
        times.append(perf_counter() - begun)
    return min(times)


@pytest.mark.parametrize("members", SIZES)
def test_numerics_against_openseespy(members: int, record_property: Any) -> None:
    """At least eight times faster than openseespy from 1,000 members."""
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
        assert spent / mine >= 8.0


def by_scipy(truss: Truss, loads: np.ndarray, factors: Callable[[Any], Any]) -> tuple[float, Any]:
    """Seconds that factors and displacements alone take, and the forces of all cases: what scipy
    gives a user who knows it, without rank, refinement, reactions or a check of anything."""
    fresh = equilibrium_matrix(truss.start, truss.end, truss.direction, len(truss.nodes_mm))
    scaled = fresh.copy()
    scaled.data = scaled.data * np.repeat(truss.stiffness_n_per_mm, 6)
    stiffness = csc_array(scaled @ fresh.T)[:, truss.free][truss.free].tocsc()
    begun = perf_counter()
    moved = np.zeros((truss.fixed.size, CASES))
    moved[truss.free] = factors(stiffness)(loads.reshape(CASES, -1).T[truss.free])
    spent = perf_counter() - begun
    return spent, truss.stiffness_n_per_mm[:, None] * (fresh.T @ moved)


def banded_cholesky(matrix: Any) -> Callable[[np.ndarray], np.ndarray]:
    """Reverse Cuthill-McKee and LAPACK's banded Cholesky."""
    order = reverse_cuthill_mckee(matrix, symmetric_mode=True)
    turned = matrix[order][:, order].tocoo()
    low = turned.row >= turned.col
    row, column = turned.row[low], turned.col[low]
    band = np.zeros((int((row - column).max()) + 1, matrix.shape[0]), order="F")
    band[row - column, column] = turned.data[low]
    factor = cholesky_banded(band, overwrite_ab=True, lower=True, check_finite=False)

    def solve(right: np.ndarray) -> np.ndarray:
        solved = np.empty_like(right)
        solved[order] = cho_solve_banded((factor, True), right[order], check_finite=False)
        return solved

    return solve


def symmetric_lu(matrix: Any) -> Callable[[np.ndarray], np.ndarray]:
    """SuperLU in symmetric mode."""
    factors: Any = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
    )
    solve: Callable[[np.ndarray], np.ndarray] = factors.solve
    return solve


@pytest.mark.parametrize("members", [size for size in SIZES if size >= 1_000])
def test_numerics_against_bare_scipy(members: int, record_property: Any) -> None:
    """Within 1.5 times of scipy doing the same (stiffness, factors, seven load cases, forces),
    though ours tells the rank, refines until forces balance, and gives reactions."""
    truss, loads = beam_on_many_feet(SIZES[members])
    repeat = 7 if members > 10_000 else 40
    spent: dict[str, float] = {}
    alone: dict[str, float] = {}
    mine = np.inf
    for _ in range(repeat):  # in turns, so that a busy moment hits all
        mine = min(mine, best_of(1, lambda: ours(truss, loads)))
        for way in (banded_cholesky, symmetric_lu):
            begun = perf_counter()
            factors, forces = by_scipy(truss, loads, way)
            name = way.__name__
            spent[name] = min(spent.get(name, np.inf), perf_counter() - begun)
            alone[name] = min(alone.get(name, np.inf), factors)
    state = ours(truss, loads)
    assert np.abs(state.member_force_n.T - forces).max() < 1e-6
    floor = min(spent.values())
    record_property("ratio", mine / floor)
    print(
        f"\n{len(truss.start)} members: ours {mine * 1e3:.1f} ms; scipy {floor * 1e3:.1f} ms "
        f"({min(spent, key=lambda name: spent[name])}), {mine / floor:.2f} times; "
        f"its factors and displacements alone {mine / min(alone.values()):.2f} times"
    )
    assert mine / floor <= 1.5


@pytest.mark.parametrize("cases", [1, 7])
def test_variants_against_a_loop_of_banded_cholesky(cases: int, record_property: Any) -> None:
    """A thousand variants of a frame of 300 members in one call, with member forces and residuals,
    in under 1.5 times of a loop that fills the band, factorises and solves it."""
    truss, loads = beam_on_many_feet(25)
    loads = loads[:cases]
    draw = np.random.default_rng(3)
    spread = draw.uniform(0.5, 2.0, (1000, len(truss.start)))
    stiffness = truss.stiffness_n_per_mm * spread
    order = np.flatnonzero(~truss.fixed.ravel())
    rows = truss.equilibrium.tocsr()[order]
    share: dict[int, dict[int, float]] = {}
    width = 0
    for bar in range(len(truss.start)):
        column = rows[:, [bar]].tocoo()
        for i, x in zip(column.row.tolist(), column.data.tolist(), strict=True):
            for j, y in zip(column.row.tolist(), column.data.tolist(), strict=True):
                if i >= j:
                    width = max(width, i - j)
                    share.setdefault(i - j + 10_000 * j, {})[bar] = x * y
    places = np.array([(key // 10_000) * (width + 1) + key % 10_000 for key in share])
    entries = [(k, bar, x) for k, bars in enumerate(share.values()) for bar, x in bars.items()]
    number, bar_of, value = (np.array(column) for column in zip(*entries, strict=True))
    shares = csr_array((value, (number, bar_of)), shape=(len(places), len(truss.start)))
    right = np.asfortranarray(loads.reshape(cases, -1)[:, order].T)

    def loop() -> np.ndarray:
        moved = np.empty((1000, *right.shape))
        for variant in range(1000):
            numbers = np.zeros(len(order) * (width + 1))
            numbers[places] = shares @ stiffness[variant]
            band = numbers.reshape(len(order), width + 1).T
            factor = cholesky_banded(band, overwrite_ab=True, lower=True, check_finite=False)
            moved[variant] = cho_solve_banded((factor, True), right, check_finite=False)
        return moved

    mine, theirs = np.inf, np.inf
    for _ in range(7):
        mine = min(mine, best_of(1, lambda: solve_variants(truss, stiffness, loads)))
        theirs = min(theirs, best_of(1, loop))
    states = solve_variants(truss, stiffness, loads)
    found = states.displacement_mm.reshape(1000, cases, -1)[:, :, order].transpose(0, 2, 1)
    assert found == pytest.approx(loop(), abs=1e-9)
    assert states.residual_ratio.max() < 1e-11
    record_property("ratio", mine / theirs)
    print(
        f"\n1,000 variants of {len(truss.start)} members, {cases} load cases: ours "
        f"{mine * 1e3:.0f} ms, loop {theirs * 1e3:.0f} ms, {mine / theirs:.2f} times"
    )
    assert mine / theirs < 1.5


def test_dense_lattice(record_property: Any) -> None:
    """A block of 18 x 18 x 18 hubs, 32,000 members: rank and forces against SuperLU's factors of
    the same matrix."""
    side = 18
    grid = np.arange(side**3).reshape(side, side, side)
    pairs = []
    for a, b, c in ((1, 0, 0), (0, 1, 0), (0, 0, 1), (1, 1, 0), (1, 0, 1), (0, 1, 1)):
        near = grid[: side - a, : side - b, : side - c].ravel()
        pairs.append(np.stack([near, grid[a:, b:, c:].ravel()], axis=1))
    starts, ends = np.concatenate(pairs).T
    nodes: np.ndarray = 120.0 * np.stack(np.unravel_index(np.arange(side**3), grid.shape), axis=1)
    fixed = np.repeat(nodes[:, :1] == 0, 3, axis=1)
    truss = Truss(nodes, starts, ends, np.full(len(starts), 50.0), fixed, np.zeros(nodes.shape))
    loads = np.random.default_rng(1).standard_normal((CASES, *nodes.shape))
    mine = best_of(3, lambda: ours(truss, loads))
    matrix = truss.free_stiffness
    theirs = best_of(1, lambda: symmetric_lu(matrix))
    record_property("ratio", theirs / mine)
    print(f"\n{len(starts)} members: ours {mine:.2f} s, {theirs / mine:.1f} times faster than LU")
    assert theirs / mine > 1.5


PEAK = """
import resource, numpy as np
from tests.benchmarks.test_truss_speed import SIZES, beam_on_many_feet, ours
truss, loads = beam_on_many_feet(SIZES[40_000])
ours(truss, loads)
print(len(truss.start), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def test_memory(record_property: Any) -> None:
    """40,000 members and seven load cases in a process of their own: under 1 GiB at the peak."""
    run = subprocess.run([sys.executable, "-c", PEAK], capture_output=True, text=True, check=True)
    members, kib = map(int, run.stdout.splitlines()[0].split())
    record_property("peak_mib", kib / 1024)
    print(f"\n{members} members: {kib / 1024:.0f} MiB at the peak, Python and libraries included")
    assert kib < 1024 * 1024


@pytest.fixture(scope="module")
def service() -> Iterator[RunningServer]:
    """The service as it runs: waitress on a free loopback port."""
    with start(Settings(port=0, body_limit_bytes=2**26, calculation_limit_s=120.0)) as running:
        yield running


def answer_of(service: RunningServer, body: Any) -> tuple[float, Any]:
    """Seconds from sending the bytes to having the whole answer, and the answer."""
    text = json.dumps(body).encode()
    url = f"{service.url}/v1/calculators/truss-check/run"
    begun = perf_counter()
    response = requests.post(url, data=text, headers={"Content-Type": "application/json"})
    spent = perf_counter() - begun
    assert response.status_code == 200, response.text[:500]
    return spent, response.json()


def test_full_check_of_a_frame_by_the_running_service(
    service: RunningServer, record_property: Any
) -> None:
    """7,000 rods as a layout with its kit: mechanisms, all cases of standing and carrying, any
    orientation, buckling of rods, each member's share of its capacity. Answered in under four
    times what the same functions take when called directly."""
    calculator = TrussCheck()

    def body(kilograms: float) -> dict[str, Any]:
        rods = {"x": 122, "y": 6, "z": 15}
        section = {
            "id": "A",
            "rods": {axis: [{"rod": "R120", "count": count}] for axis, count in rods.items()},
            "side_faces": {"default": "lean-in"},
            "cross_faces": {"every": 3},
            "fittings": [{"title": "equipment", "mass_kg": kilograms, "levels": [0, 1]}],
        }
        layout = {"sections": [section]}
        return {
            "kit": desk("kit"), "frame": {"layout": layout}, "analyses": ["linear"],
            "detail": "full", "seek_remedies": False,
        }  # fmt: skip

    inputs = calculator.load(body(9.0))
    kit = Kit.from_inputs(inputs["kit"])
    direct = best_of(
        4, lambda: check_sections(prepare(inputs, kit), inputs, kit, with_limits=False)
    )
    spent, answer = min((answer_of(service, body(9.0 + k / 100)) for k in range(4)), key=first)
    (section,) = answer["result"]["sections"]
    assert section["stability"]["mechanisms"] == 0 and section["utilisation_max"] > 0
    record_property("ratio", spent / direct)
    print(
        f"\nframe of {section['stability']['members']} members: answered in {spent * 1e3:.0f} ms, "
        f"directly {direct * 1e3:.0f} ms, {spent / direct:.2f} times"
    )
    assert spent / direct < 4.0


@pytest.mark.parametrize("analysis", ["envelope", "linear"])
def test_structure_in_columns_by_the_running_service(
    service: RunningServer, analysis: str, record_property: Any
) -> None:
    """7,000 members and seven cases as columns of numbers: reading and writing half a megabyte
    to three of them takes several times of what twenty milliseconds of numerics take."""
    truss, _ = beam_on_many_feet(SIZES[7_000])
    count = len(truss.start)
    draw = np.random.default_rng(8)
    loads = np.zeros((CASES, *truss.fixed.shape))
    for case in loads:
        case[draw.choice(len(case), 100, replace=False)] = draw.standard_normal((100, 3)).round(3)

    def body(gravity: float) -> dict[str, Any]:
        request = wire(truss, loads)
        request["structure"]["members"] |= {
            "tension_n": [60.0] * count,
            "compression_n": [300.0] * count,
            "bending_stiffness_n_mm2": [2.4e6] * count,
        }
        masses = [0.02] * len(truss.nodes_mm)
        analyses = [analysis, "any-orientation"]
        return {**request, "node_mass_kg": masses, "gravity_m_s2": gravity, "analyses": analyses}

    inputs = TrussCheck().load(body(9.8))
    direct = best_of(6, lambda: check_structure(structure_of(inputs), inputs))
    spent, _ = min((answer_of(service, body(9.8 + k / 1000)) for k in range(8)), key=first)
    record_property("ratio", spent / direct)
    print(
        f"\nstructure of {count} members, {analysis}: answered in {spent * 1e3:.0f} ms, directly "
        f"{direct * 1e3:.0f} ms, {spent / direct:.1f} times"
    )
    assert spent / direct < 20.0


def first(pair: tuple[float, Any]) -> float:
    """The seconds of an answer."""
    return pair[0]


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
    begun = perf_counter()
    response = client.post(
        "/v1/calculators/truss-check/run", data=text, content_type="application/json"
    )
    spent = perf_counter() - begun
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
