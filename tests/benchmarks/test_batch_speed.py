"""Speed of batches: `pytest -m benchmark -n 0 -s tests/benchmarks/test_batch_speed.py`.

Ratios within one run on one machine: worker processes against one another, a batch against single
runs over HTTP, and what a batch costs beside its calculations. Other work on the machine counts
against them.
"""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import islice, product
from pathlib import Path
from typing import Any

import pytest
import requests

from baywright_client.api import Api
from baywright_client.files import load_object
from baywright_client.gather import Descriptions
from baywright_client.prepare import plan_of
from baywright_service.host import Host
from baywright_service.registry import Registry
from baywright_service.server import start
from baywright_service.settings import Settings

pytestmark = pytest.mark.benchmark

DESK = Path(__file__).parents[2] / "client/baywright_client/examples/returns-desk/changed.yaml"
COUNT = 1000
#: Single runs that are timed where nothing is remembered: those of one strength.
SAMPLE = 50


@contextmanager
def service(registry: Registry, folder: Path, **options: Any) -> Iterator[tuple[Host, str]]:
    """A real service with a store of its own, every worker of it warm, and its address."""
    folder.mkdir()
    settings = Settings(port=0, store=str(folder / "documents.sqlite3"), **options)
    with start(settings, registry) as running:
        host: Host = running._app.extensions["baywright"]
        inputs = host.registry.find("grid-fit").examples[0].inputs
        titles = {"pointer": "/kit/title", "values": [f"Kit {k}" for k in range(40)]}
        warm = {"calculator": "grid-fit", "inputs": inputs, "vary": [titles]}
        finished(running.url, warm)
        host.batches.runner.spent_s = host.batches.runner.calculating_s = 0.0
        yield host, running.url


def finished(url: str, body: dict[str, Any]) -> tuple[dict[str, Any], float]:
    """A batch at its end, and how long it took from its request on."""
    begun = time.perf_counter()
    answer = requests.post(f"{url}/v1/batches", json=body, timeout=600)
    assert answer.status_code == 202, answer.text
    place = url + answer.headers["Location"]
    with requests.get(f"{place}/events", stream=True, timeout=600) as events:
        assert b"event: done" in events.iter_lines()
    spent_s = time.perf_counter() - begun
    batch = requests.get(place, timeout=60).json()
    assert batch["status"] == "successful", batch
    return batch, spent_s


@pytest.fixture(scope="module")
def plan(built_in: Registry) -> dict[str, Any]:
    """Grid, strength and parts of the catch-and-return desk, one section of The Returns Desk."""
    with start(Settings(port=0), built_in) as running:
        api = Api(running.url)
        body = plan_of(load_object(str(DESK)), Descriptions(api)).body
        api.close()
    steps = {step["id"]: step for step in body["steps"]}
    layout = steps["grid"]["inputs"]["layout"]
    section = [each for each in layout["sections"] if each["id"] == "S4"]
    strength = {name: steps["strength"]["inputs"][name] for name in ("frame", "gravity_m_s2")}
    parts = {name: value for name, value in steps["parts"]["inputs"].items() if name != "build"}
    return {
        "kit": body["kit"],
        "stock": body["stock"],
        "steps": [
            {**steps["grid"], "inputs": {"layout": {**layout, "sections": section, "joints": []}}},
            {**steps["strength"], "inputs": {**strength, "analyses": ["linear"]}},
            {**steps["parts"], "inputs": {**parts, "build": {"first_bay_min": 9}}},
        ],
    }


def of_strength(plan: dict[str, Any]) -> dict[str, Any]:
    """COUNT variants, each with a strength of its own."""
    values = [9.8 + k * 1e-5 for k in range(COUNT)]
    return {
        "plan": plan,
        "vary": [{"pointer": "/steps/strength/inputs/gravity_m_s2", "values": values}],
        "keep": ["/steps/strength/verdict", "/steps/strength/result/sections/0"],
    }


def of_both(plan: dict[str, Any]) -> dict[str, Any]:
    """COUNT variants: each of 20 strengths with each of SAMPLE ways to build."""
    gravity = [9.7 + k * 1e-4 for k in range(COUNT // SAMPLE)]
    minutes = [5 + k / 10 for k in range(SAMPLE)]
    return {
        "plan": plan,
        "vary": [
            {"pointer": "/steps/strength/inputs/gravity_m_s2", "values": gravity},
            {"pointer": "/steps/parts/inputs/build/first_bay_min", "values": minutes},
        ],
        "keep": ["/steps/strength/verdict", "/steps/parts/verdict"],
    }


def single_runs_s(url: str, plan: dict[str, Any], count: int) -> float:
    """Seconds that COUNT single runs take, each variant of `of_both` a request, from the first
    `count` of them."""
    session = requests.Session()
    grid, strength, parts = plan["steps"]
    gravity, minutes = (each["values"] for each in of_both(plan)["vary"])
    begun = time.perf_counter()
    for one, other in islice(product(gravity, minutes), count):
        steps = [
            grid,
            {**strength, "inputs": {**strength["inputs"], "gravity_m_s2": one}},
            {**parts, "inputs": {**parts["inputs"], "build": {"first_bay_min": other}}},
        ]
        answer = session.post(f"{url}/v1/plans/run", json={**plan, "steps": steps}, timeout=60)
        assert answer.status_code == 200, answer.text
        assert all(step["status"] == "done" for step in answer.json()["steps"])
    return (time.perf_counter() - begun) * COUNT / count


def spun(processes: int) -> float:
    """How far so many processes count in two seconds, together: what the machine has to give."""
    code = (
        "import time; end = time.perf_counter() + 2; n = 0\n"
        "while time.perf_counter() < end: n += 1\n"
        "print(n)"
    )
    counting = [
        subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
        for _ in range(processes)
    ]
    return float(sum(int(each.communicate()[0]) for each in counting))


def test_two_processes_and_what_is_spent_beside_the_calculations(
    built_in: Registry, plan: dict[str, Any], tmp_path: Path
) -> None:
    """Plain processes that count, before and after, say what the machine has to give beside other
    work on it."""
    spent, counted = dict.fromkeys((1, 2), 0.0), dict.fromkeys((1, 2), 0.0)
    for workers in (1, 2):
        folder = tmp_path / str(workers)
        with service(built_in, folder, workers=workers) as (host, url):
            counted[workers] += spun(workers)
            batch, spent[workers] = finished(url, of_strength(plan))
            assert batch["item_counts"]["successful"] == COUNT
            counted[workers] += spun(workers)
            calculating = host.batches.runner.calculating_s
    beside = 1 - calculating / (2 * spent[2])
    ratio, possible = spent[1] / spent[2], counted[2] / counted[1]
    print(f"\n{COUNT} variants with strength: {spent[1]:.1f} s on one process, {spent[2]:.1f} s on "
          f"two, {ratio:.2f} times as fast (target 1.8; counting gains {possible:.2f} here); "
          f"{100 * beside:.1f} % of the processes' time outside calculators")  # fmt: skip
    assert beside < 0.15
    assert ratio >= min(1.8, 0.9 * possible)


def test_a_batch_and_single_runs_over_http(
    built_in: Registry, plan: dict[str, Any], tmp_path: Path
) -> None:
    with service(built_in, tmp_path / "batch", workers=2) as (_, url):
        batch, batch_s = finished(url, of_both(plan))
        assert batch["item_counts"]["successful"] == COUNT
    with service(built_in, tmp_path / "each", workers=2, remembered_mib=0) as (_, url):
        each_s = single_runs_s(url, plan, SAMPLE)
    with service(built_in, tmp_path / "known", workers=2) as (_, url):
        known_s = single_runs_s(url, plan, COUNT)
    print(f"\n{COUNT} variants, 20 strengths with 50 ways to build: {batch_s:.1f} s as a batch; "
          f"single runs over HTTP (from {SAMPLE}) {each_s:.0f} s, {each_s / batch_s:.1f} times as "
          f"long (target 5); all of them where the service remembers steps {known_s:.1f} s, "
          f"{known_s / batch_s:.1f} times as long")  # fmt: skip
    assert each_s / batch_s >= 5.0


def test_a_step_that_is_known_and_a_variant_that_is_cheap(
    built_in: Registry, plan: dict[str, Any], tmp_path: Path
) -> None:
    """What a variant costs where nothing has to be calculated: the price of being many."""
    with service(built_in, tmp_path / "known", workers=1) as (host, url):
        finished(url, {"plan": plan, "variants": [{}]})
        titles = [{"title": f"The same machine, {k}"} for k in range(2000)]
        host.batches.runner.spent_s = 0.0
        batch, spent_s = finished(url, {"plan": plan, "variants": titles})
        assert batch["item_counts"]["successful"] == len(titles)
        worker_s = host.batches.runner.spent_s
    each = 1e6 / len(titles)
    print(f"\na variant of three known steps: {spent_s * each:.0f} us from request to result, "
          f"{worker_s * each:.0f} us of it in the worker")  # fmt: skip
    assert spent_s * each < 20_000


@pytest.mark.slow
def test_a_hundred_thousand_variants_stay_below_500_mib(tmp_path: Path) -> None:
    """Of grid-fit alone, in a service of its own process."""
    environment = {
        **os.environ,
        "BAYWRIGHT_PORT": "0",
        "BAYWRIGHT_STORE": str(tmp_path / "documents.sqlite3"),
        "BAYWRIGHT_WORKERS": "2",
        "BAYWRIGHT_VARIANT_LIMIT": "100000",
    }
    process = subprocess.Popen(
        [sys.executable, "-m", "baywright_service"],
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert process.stdout is not None
        url = process.stdout.readline().split()[3]
        [*_, example] = requests.get(f"{url}/v1/calculators/grid-fit", timeout=60).json()[
            "examples"
        ]
        masses, titles = [1 + k / 1000 for k in range(1000)], [f"Kit {k}" for k in range(100)]
        body = {
            "calculator": "grid-fit",
            "inputs": example["inputs"],
            "vary": [
                {"pointer": "/kit/rods/0/mass_g", "values": masses},
                {"pointer": "/kit/title", "values": titles},
            ],
            "keep": ["/verdict"],
        }
        batch, spent_s = finished(url, body)
        status = Path(f"/proc/{process.pid}/status").read_text()
    finally:
        process.terminate()
        process.communicate()
    peak_mib = int(status.split("VmHWM:")[1].split()[0]) / 1024
    print(f"\n100,000 variants in {spent_s:.0f} s; the service held {peak_mib:.0f} MiB at most "
          f"(target 500); {batch['item_counts']}")  # fmt: skip
    assert peak_mib < 500.0
