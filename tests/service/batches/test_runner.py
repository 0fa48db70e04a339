"""What runs batches: the right results, whatever variants, workers and other batches do."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from baywright_service import plans
from baywright_service.batches import runner as runners
from baywright_service.batches.holding import Holding
from baywright_service.batches.manager import Batches
from baywright_service.batches.model import Base, Batch, Item, Variant
from baywright_service.host import Host
from baywright_service.problems import StorageUnavailable
from tests.service.batches.conftest import Serve
from tests.service.execution.troublemakers import troublemakers
from tests.service.fakes import Fail, Span, Weigh

ROOT = Path(__file__).parents[3]
KIT = {"rods": [{"id": "R120", "pitch_mm": 120}, {"id": "R60", "pitch_mm": 60}]}
PLAN: dict[str, Any] = {
    "kit": KIT,
    "steps": [
        {"id": "row", "calculator": "span", "inputs": {"rod": "R120", "bays": 3}},
        {
            "id": "mass",
            "calculator": "weigh",
            "inputs": {"length_mm": {"$ref": "#/steps/row/result/span_mm"}},
        },
    ],
}
KEEP = ("/verdict", "/steps/row/result/span_mm", "/steps/1/result/mass_g", "/steps/row/status")

Wait = Callable[[Batches, Batch], Batch]


def varied(pointer: str, values: list[Any]) -> Iterator[Variant]:
    """One variant for each value; equal values are equal variants."""
    for value in values:
        yield Variant({"set": {pointer: value}}, repr(value).encode())


def started(host: Host, base: Base, variants: Iterator[Variant]) -> Batch:
    """A batch that runs."""
    return host.batches.create({}, base, variants)[0]


def items_of(host: Host, batch: Batch) -> list[Item]:
    """All of them."""
    return host.batches.store.items(batch.id, -1, 10_000)


class TestResults:
    def test_are_those_of_single_runs(self, serve: Serve, ended: Wait) -> None:
        host = serve()
        bays = list(range(1, 13))
        batch = ended(
            host.batches,
            started(host, Base(PLAN, keep=KEEP), varied("/steps/0/inputs/bays", bays)),
        )
        assert (batch.status, batch.successful) == ("successful", 12)
        for item, count in zip(items_of(host, batch), bays, strict=True):
            steps = [{**PLAN["steps"][0], "inputs": {"rod": "R120", "bays": count}}]
            checked = plans.check(
                {**PLAN, "steps": [*steps, PLAN["steps"][1]]}, host.registry, host.documents
            )
            alone = plans.run(checked, host.documents, host.envelope)
            row, mass = (step["envelope"] for step in alone["steps"])
            assert item.verdict == alone["verdict"]
            assert item.kept == {
                "/verdict": alone["verdict"],
                "/steps/row/result/span_mm": row["result"]["span_mm"],
                "/steps/1/result/mass_g": mass["result"]["mass_g"],
                "/steps/row/status": "done",
            }
        assert [item.verdict for item in items_of(host, batch)] == ["ok"] * 8 + ["stop"] * 4

    def test_of_one_calculator(self, serve: Serve, ended: Wait) -> None:
        host = serve()
        base = Base({"kit": KIT, "rod": "R60", "bays": 2}, "span", ("/result/span_mm",))
        batch = ended(host.batches, started(host, base, varied("/bays", [1, 2, 1])))
        assert [item.kept for item in items_of(host, batch)] == [
            {"/result/span_mm": span} for span in (60, 120, 60)
        ]
        assert [item.same_as for item in items_of(host, batch)] == [None, None, 0]

    def test_a_variant_that_fails_keeps_its_problem_and_the_batch_goes_on(
        self, serve: Serve, ended: Wait
    ) -> None:
        host = serve(calculation_limit_s=0.2)
        how = ["refuse", "fault", "slow", "nan", "infinite", "overflow", "no such way"]
        batch = ended(
            host.batches, started(host, Base({"how": "refuse"}, "fail"), varied("/how", how))
        )
        assert (batch.status, batch.failed) == ("successful", 7)
        problems = [item.problem or {} for item in items_of(host, batch)]
        assert [problem["type"].rpartition("/")[2] for problem in problems] == [
            *("cannot-calculate", "internal", "calculation-limit", "internal"),
            *("cannot-calculate", "cannot-calculate", "invalid-input"),
        ]
        assert problems[2]["limit_s"] == 0.2
        assert "secret" not in str(problems)

    def test_a_step_that_fails_leaves_what_the_others_gave(self, serve: Serve, ended: Wait) -> None:
        host = serve()
        steps = [*PLAN["steps"], {"id": "no", "calculator": "fail", "inputs": {"how": "refuse"}}]
        base = Base({**PLAN, "steps": steps}, keep=(*KEEP, "/steps/no/status", "/steps/no/verdict"))
        batch = ended(host.batches, started(host, base, varied("/steps/0/inputs/bays", [2])))
        [item] = items_of(host, batch)
        assert item.status == "failed" and item.problem and item.problem["step"] == "no"
        assert item.kept and item.kept["/steps/1/result/mass_g"] == 24.0
        assert item.kept["/steps/no/status"] == "failed" and "/steps/no/verdict" not in item.kept

    def test_a_variant_may_change_what_steps_there_are(self, serve: Serve, ended: Wait) -> None:
        host = serve()
        variants = [
            Variant({"set": {"/steps/1/inputs/length_mm": 10}}),
            Variant({"set": {"/steps/1/inputs/length_mm": {"$ref": "#/steps/gone/result/x"}}}),
            Variant({"json_patch": [{"op": "remove", "path": "/steps/1"}]}),
            Variant({"merge_patch": {"steps": [PLAN["steps"][0]]}}),
        ]
        batch = ended(host.batches, started(host, Base(PLAN, keep=KEEP), iter(variants)))
        masses = [(item.kept or {}).get("/steps/1/result/mass_g") for item in items_of(host, batch)]
        assert masses == [1.0, None, None, None]
        assert [item.status == "successful" for item in items_of(host, batch)] == [
            *(True, False, True, True)
        ]

    def test_stored_documents_are_read_as_they_were_when_it_was_made(
        self, serve: Serve, ended: Wait, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        host = serve()
        first = host.documents.create("kit", "mine", KIT)
        other = {"rods": [{"id": "R120", "pitch_mm": 100}]}
        host.documents.create("kit", "other", other)
        assert first is not None
        base = Base({**PLAN, "kit": {"id": "mine"}}, keep=KEEP)
        with monkeypatch.context() as patch:
            patch.setattr(host.batches.runner, "wake", lambda: None)
            batch = started(host, base, varied("/kit/id", ["mine", "other"]))
        changed = {"rods": [{"id": "R120", "pitch_mm": 999}]}
        host.documents.replace("kit", "mine", changed, first.revision)
        ended(host.batches, batch)
        spans = [(item.kept or {})["/steps/row/result/span_mm"] for item in items_of(host, batch)]
        assert spans == [360, 300]


class TestOnceOnly:
    @pytest.fixture
    def calls(self, monkeypatch: pytest.MonkeyPatch) -> list[str]:
        """The calculators that were called, in order."""
        seen: list[str] = []
        for kind in (Span, Weigh):
            original = kind.calculate

            def counted(self: Any, inputs: Any, original: Any = original) -> Any:
                seen.append(self.name)
                return original(self, inputs)

            monkeypatch.setattr(kind, "calculate", counted)
        return seen

    def test_a_step_that_no_variant_changes_is_calculated_once(
        self, serve: Serve, ended: Wait, calls: list[str]
    ) -> None:
        host = serve()
        masses = [k / 10 for k in range(20)]
        pointer = "/steps/1/inputs/mass_per_length_g_per_mm"
        ended(host.batches, started(host, Base(PLAN), varied(pointer, masses)))
        assert (calls.count("span"), calls.count("weigh")) == (1, 20)
        ended(host.batches, started(host, Base(PLAN), varied(pointer, masses[:10] + [9.9])))
        assert (calls.count("span"), calls.count("weigh")) == (1, 21)

    def test_two_ways_to_one_result_are_one_further_on(
        self, serve: Serve, ended: Wait, calls: list[str]
    ) -> None:
        """Six bays of half the pitch give the span of three: the next step is known."""
        host = serve()
        inputs = [{"rod": "R120", "bays": 3}, {"rod": "R60", "bays": 6}]
        ended(host.batches, started(host, Base(PLAN), varied("/steps/0/inputs", inputs)))
        assert (calls.count("span"), calls.count("weigh")) == (2, 1)


class TestTrouble:
    @pytest.mark.parametrize(
        "how",
        [
            ["none", "none", "never-ends", "none"],
            pytest.param(
                ["none", "segfault", "none", "never-ends", "none", "memory", "exit", "none"],
                marks=pytest.mark.slow,
            ),
        ],
        ids=len,
    )
    def test_only_the_guilty_variants_fail(
        self, serve: Serve, ended: Wait, monkeypatch: pytest.MonkeyPatch, how: list[str]
    ) -> None:
        """In workers: an endless loop in compiled code, a segmentation fault, too much memory."""
        monkeypatch.syspath_prepend(ROOT)
        host = serve(troublemakers(), workers=2, calculation_limit_s=0.2, memory_limit_mib=256)
        variants = (Variant({"set": {"/how": each}}) for each in how)
        batch = ended(host.batches, started(host, Base({"how": "none"}, "trouble"), variants))
        problems = [item.problem or {} for item in items_of(host, batch)]
        assert [problem.get("type", "").rpartition("/")[2] for problem in problems] == [
            _ENDS_IN[each] for each in how
        ]
        for each, problem in zip(how, problems, strict=True):
            assert problem.get("limit_s") == (0.2 if each == "never-ends" else None)
            assert problem.get("limit_mib") == (256 if each == "memory" else None)

    def test_cancelling_ends_what_runs(
        self, serve: Serve, monkeypatch: pytest.MonkeyPatch, ended: Wait
    ) -> None:
        monkeypatch.syspath_prepend(ROOT)
        host = serve(troublemakers(), workers=1, calculation_limit_s=600.0)
        ways = (Variant({"set": {"/how": "never-ends"}}) for _ in range(3))
        batch = started(host, Base({"how": "none"}, "trouble"), ways)
        while (now := host.batches.store.get(batch.id)) and now.status == "accepted":
            host.batches.wait_for_change(now, 1.0)
        cancelled = host.batches.cancel(batch.id)
        assert cancelled is not None and (cancelled.status, cancelled.dismissed) == ("dismissed", 3)
        after = started(host, Base({"how": "none"}, "trouble"), varied("/how", ["none"]))
        assert ended(host.batches, after).successful == 1  # the worker is free again
        assert host.batches.cancel(batch.id) == cancelled

    def test_a_store_that_cannot_be_written_for_a_while_costs_nothing(
        self, serve: Serve, ended: Wait, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        host = serve()
        monkeypatch.setattr(runners, "PAUSE_S", 0.05)
        store = host.batches.store
        finish, refused = store.finish, iter([True, True, False])

        def sometimes(*arguments: Any) -> int:
            if next(refused, False):
                raise StorageUnavailable("The disk is full.")
            return finish(*arguments)

        monkeypatch.setattr(store, "finish", sometimes)
        batch = started(host, Base(PLAN, keep=KEEP), varied("/steps/0/inputs/bays", [1, 2, 3]))
        assert ended(host.batches, batch).successful == 3
        assert next(refused, None) is None

    def test_a_calculator_that_is_gone_ends_its_variants_in_words(
        self, serve: Serve, ended: Wait
    ) -> None:
        host = serve()
        base = Base({"how": "refuse"}, "no-such-calculator")
        batch = ended(host.batches, started(host, base, varied("/how", ["refuse"])))
        [item] = items_of(host, batch)
        assert item.problem and item.problem["type"] == "/v1/problems/not-found"


class TestSeveral:
    def test_a_short_batch_does_not_wait_for_a_long_one(
        self, serve: Serve, ended: Wait, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(Fail, "calculate", _slowly(Fail.calculate))
        host = serve()
        ways = (Variant({"set": {"/how": "refuse"}}) for _ in range(400))
        long = started(host, Base({"how": "refuse"}, "fail"), ways)
        short = started(host, Base(PLAN), varied("/steps/0/inputs/bays", [1, 2]))
        ended(host.batches, short)
        now = host.batches.store.get(long.id)
        assert now is not None and now.waiting > 0
        host.batches.cancel(long.id)

    def test_one_process_runs_a_store_and_another_takes_over(
        self, serve: Serve, ended: Wait
    ) -> None:
        first = serve()
        started(first, Base(PLAN), varied("/steps/0/inputs/bays", [1]))
        holding = Holding(first.batches.store.database.path)
        assert ended(first.batches, first.batches.store.page(0, 1)[0]).successful == 1
        assert not holding.taken()
        second = serve()
        batch = started(second, Base(PLAN), varied("/steps/0/inputs/bays", [2]))
        assert ended(second.batches, batch).successful == 1  # run by the first
        assert not second.batches.runner._recovered
        first.close()
        batch = started(second, Base(PLAN), varied("/steps/0/inputs/bays", [3]))
        assert ended(second.batches, batch).successful == 1
        assert second.batches.runner._recovered

    def test_closing_gives_back_what_runs_and_the_next_start_goes_on(
        self, serve: Serve, ended: Wait, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(Fail, "calculate", _slowly(Fail.calculate))
        host = serve()
        ways = (Variant({"set": {"/how": "refuse"}}) for _ in range(20))
        batch = started(host, Base({"how": "refuse"}, "fail"), ways)
        host.batches.wait_for_change(batch, 1.0)
        host.close()
        again = serve()
        assert not again.batches.store.get(batch.id).ended  # type: ignore[union-attr]
        assert {item.status for item in items_of(again, batch)} <= {"accepted", "failed"}
        again.batches.resume()
        assert ended(again.batches, batch).failed == 20

    def test_a_service_without_batches_writes_nothing(self, serve: Serve, tmp_path: Path) -> None:
        host = serve()
        host.batches.resume()
        host.close()
        assert not list(tmp_path.glob("*batches*"))

    def test_the_lock_goes_with_its_process(self, tmp_path: Path) -> None:
        path = str(tmp_path / "batches.sqlite3")
        child = subprocess.Popen(
            [sys.executable, "-c", _HOLD, path], stdout=subprocess.PIPE, cwd=ROOT
        )
        assert child.stdout is not None and child.stdout.readline() == b"True\n"
        holding = Holding(path)
        assert not holding.taken()
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
        assert holding.taken() and holding.taken()
        holding.release()


_ENDS_IN = {
    "none": "",
    "segfault": "internal",
    "never-ends": "calculation-limit",
    "memory": "calculation-limit",
    "exit": "internal",
}
_HOLD = """
import sys, time
from baywright_service.batches.holding import Holding
holding = Holding(sys.argv[1])
print(holding.taken(), flush=True)
time.sleep(60)
"""


def _slowly(calculate: Any) -> Any:
    def slow(self: Any, inputs: Any) -> Any:
        time.sleep(0.01)
        return calculate(self, inputs)

    return slow
