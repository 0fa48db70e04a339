"""Runs are remembered so that a drawing does not calculate again, and nothing else changes."""

from typing import Any

from baywright_service.contract import Calculator, Drawing, Inputs, Result
from baywright_service.recent import Recent, Run


class _Counting:
    """Stands in for a calculator: counts its calculations."""

    version = "1.0.0"

    def __init__(self) -> None:
        self.calls = 0

    def run(self) -> Run:
        self.calls += 1
        return Run(Inputs(), Result({"call": self.calls}), {})

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        self.calls += 1
        return Drawing(f"{view} {self.calls}", "", [])


def ask(recent: Recent, calculator: Any, body: dict[str, Any]) -> Any:
    kept: Calculator = calculator
    return recent.result(kept, body, calculator.run).result.value["call"]


def test_same_body_is_calculated_once() -> None:
    """The second answer is the first one's result."""
    recent, calculator = Recent(worth_s=0.0), _Counting()
    assert [ask(recent, calculator, {"a": 1}) for _ in range(3)] == [1, 1, 1]
    assert ask(recent, calculator, {"a": 2}) == 2


def test_only_the_last_few_are_kept() -> None:
    """What was used longest ago goes first."""
    recent, calculator = Recent(most=2, worth_s=0.0), _Counting()
    for a in (1, 2, 1, 3):
        ask(recent, calculator, {"a": a})
    assert calculator.calls == 3
    assert ask(recent, calculator, {"a": 1}) == 1
    assert ask(recent, calculator, {"a": 2}) == 4


def test_quick_runs_are_not_worth_keeping() -> None:
    """Memory is for what took time."""
    recent, calculator = Recent(worth_s=60.0), _Counting()
    assert [ask(recent, calculator, {}) for _ in range(2)] == [1, 2]


def test_another_version_is_another_run() -> None:
    """Other numbers for the same inputs are a minor step of the version."""
    recent, calculator = Recent(worth_s=0.0), _Counting()
    ask(recent, calculator, {})
    calculator.version = "1.1.0"
    assert ask(recent, calculator, {}) == 2


def test_a_picture_is_drawn_once() -> None:
    """Another view is another picture of the same run."""
    counting: Any = _Counting()
    run = counting.run()
    titles = [run.drawing(counting, view).title for view in ("front", "side", "front")]
    assert titles == ["front 2", "side 3", "front 2"]
