"""What variants of the demo machine gain from work they share: `pytest -m benchmark -n 0 -s
tests/benchmarks/test_topology_sharing_speed.py`.

The strength step of the whole machine, with travel and vibration. Processor time, so that other
work on the machine does not count; ratios within one run: variants after one another, and each
with everything forgotten before it.
"""

import copy
import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from baywright_client.api import Api
from baywright_client.files import load_object
from baywright_client.gather import Descriptions
from baywright_client.prepare import plan_of
from baywright_plugins.frame.shared_work import forget_shared_work, shared_bytes
from baywright_service.envelope import computed
from baywright_service.registry import Registry
from baywright_service.server import start
from baywright_service.settings import Settings

pytestmark = pytest.mark.benchmark

DESK = Path(__file__).parents[2] / "client/baywright_client/examples/returns-desk/changed.yaml"
COUNT = 4


@pytest.fixture(scope="module")
def strength(built_in: Registry) -> dict[str, Any]:
    """Inputs of the strength step."""
    with start(Settings(port=0), built_in) as running:
        api = Api(running.url)
        plan = plan_of(load_object(str(DESK)), Descriptions(api)).body
        api.close()
    steps = {step["id"]: {**step["inputs"], "kit": plan["kit"]} for step in plan["steps"]}
    grid = json.loads(computed(built_in.find("grid-fit"), steps["grid"]))
    return {**steps["strength"], "frame": grid["result"]["frame"]}


def gravity(body: dict[str, Any], number: int) -> None:
    body["gravity_m_s2"] = 9.79 + number / 1000


def mass(body: dict[str, Any], number: int) -> None:
    body["frame"]["layout"]["sections"][0]["fittings"][0]["mass_kg"] = 9 + number / 10


def stiffness(body: dict[str, Any], number: int) -> None:
    body["kit"]["hubs"][0]["seat_stiffness_n_per_mm"] *= 1 + number / 100


def drop(body: dict[str, Any], number: int) -> None:
    body["travel"]["drop"]["height_mm"] = 20 + number


@pytest.mark.parametrize(
    ("change", "target"), [(gravity, 2.0), (mass, 1.5), (stiffness, 1.5), (drop, 2.0)]
)
def test_variants_of_one_topology(
    built_in: Registry,
    strength: dict[str, Any],
    change: Callable[[dict[str, Any], int], None],
    target: float,
) -> None:
    check = built_in.find("truss-check")
    bodies = []
    for number in range(1, COUNT + 1):
        bodies.append(copy.deepcopy(strength))
        change(bodies[-1], number)
    forget_shared_work()
    computed(check, strength)
    spent: dict[bool, float] = {}
    answers: dict[bool, list[bytes]] = {}
    for alone in (False, True):
        spent[alone], answers[alone] = 0.0, []
        for body in bodies:
            if alone:
                forget_shared_work()
            begun = time.process_time()
            answers[alone].append(computed(check, body))
            spent[alone] += time.process_time() - begun
    ratio = spent[True] / spent[False]
    print(f"\n{change.__name__}: {spent[True] / COUNT:.2f} s alone, {spent[False] / COUNT:.2f} s")
    print(f"shared: {ratio:.1f} times as fast; {shared_bytes() / 2**20:.1f} MiB kept")
    assert answers[True] == answers[False]
    assert ratio >= target
