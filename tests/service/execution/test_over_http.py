"""What a client is told when a calculation fails in its worker process."""

import threading
from collections.abc import Iterator
from typing import Any

import pytest
import requests

from baywright_service.server import RunningServer, start
from baywright_service.settings import Settings
from tests.service.execution.troublemakers import troublemakers


@pytest.fixture(scope="module")
def server() -> Iterator[RunningServer]:
    """A service with two workers, 0.8 s and 256 MiB for each calculation."""
    settings = Settings(port=0, workers=2, calculation_limit_s=0.8, memory_limit_mib=256)
    with start(settings, troublemakers()) as server:
        yield server


def told(server: RunningServer, how: str) -> tuple[int, dict[str, Any]]:
    """Status and body of a run."""
    url = f"{server.url}/v1/calculators/trouble/run"
    answer = requests.post(url, json={"how": how}, timeout=60)
    return answer.status_code, answer.json()


def test_an_endless_calculation_is_ended_and_others_are_served_meanwhile(
    server: RunningServer,
) -> None:
    both = [threading.Thread(target=told, args=(server, "none")) for _ in range(2)]
    for each in both:
        each.start()
    for each in both:
        each.join()
    ends: list[tuple[int, dict[str, Any]]] = []
    endless = threading.Thread(target=lambda: ends.append(told(server, "never-ends")))
    endless.start()
    assert [told(server, "none")[0] for _ in range(5)] == [200] * 5
    assert not ends
    endless.join()
    status, problem = ends[0]
    assert (status, problem["type"]) == (422, "/v1/problems/calculation-limit")
    assert problem["limit_s"] == 0.8 and "after 0.8 s" in problem["detail"]


def test_too_much_memory_is_a_limit_in_mib(server: RunningServer) -> None:
    status, problem = told(server, "memory")
    assert (status, problem["type"]) == (422, "/v1/problems/calculation-limit")
    assert problem["limit_mib"] == 256 and "256 MiB" in problem["detail"]


@pytest.mark.parametrize(
    ("how", "words"),
    [("segfault", "ended its worker"), ("exit", "in the log"), ("fault", "in the log")],
)
def test_a_fault_is_ours_and_the_next_run_is_good(
    server: RunningServer, how: str, words: str
) -> None:
    status, problem = told(server, how)
    assert (status, problem["type"]) == (500, "/v1/problems/internal")
    assert words in problem["detail"] and "secret" not in str(problem)
    assert told(server, "none")[0] == 200


def test_a_plan_goes_on_where_one_step_ends_its_worker(server: RunningServer) -> None:
    steps = [
        {"id": how, "calculator": "trouble", "inputs": {"how": how}} for how in ("segfault", "none")
    ]
    answer = requests.post(f"{server.url}/v1/plans/run", json={"steps": steps}, timeout=60)
    assert [step["status"] for step in answer.json()["steps"]] == ["failed", "done"]
    assert answer.json()["steps"][0]["problem"]["type"] == "/v1/problems/internal"
