"""What a stored plan answers, calculated when somebody asks and remembered until it changes.

The key of an answer is made of everything that goes into it: the plan, each stored document it
names, and the version of each calculator. So an asker who has it already costs nothing.
"""

import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from . import plans
from .contract import Calculator, DocumentUse
from .documents import Fetched, Stored
from .envelope import document_json
from .host import Host
from .json_writer import canonical_bytes, digest
from .openapi import service_version
from .problems import NotFound

MOST_REMEMBERED = 8


@dataclass(frozen=True)
class StepRun:
    """One step as it ran: its inputs with all references resolved and documents in place."""

    calculator: Calculator
    body: Mapping[str, Any]
    documents: Sequence[DocumentUse]
    envelope: Mapping[str, Any]


@dataclass(frozen=True)
class StoredAnswer:
    """The answer of a whole plan, and how each step that was done ran."""

    plan: Stored
    key: str
    answer: Mapping[str, Any]
    runs: Mapping[str, StepRun]

    def run_of(self, step: str) -> StepRun:
        """The run of one step. Raises NotFound, saying why there is none."""
        if step in self.runs:
            return self.runs[step]
        known = [entry["id"] for entry in self.answer["steps"]]
        if step in known:
            raise NotFound(f"Step “{step}” gave no result this time; see the plan's answer.")
        raise NotFound(f"No step “{step[:64]}” stands in this plan. Its steps: {', '.join(known)}.")


class StoredAnswers:
    """The answers of the plans asked for last."""

    def __init__(self) -> None:
        self._answers: OrderedDict[str, StoredAnswer] = OrderedDict()
        self._lock = threading.Lock()
        self._busy: dict[str, threading.Lock] = {}

    def answer(self, parts: Host, stored: Stored, checked: plans.Checked, key: str) -> StoredAnswer:
        """The answer under `key`; of many who ask at once one calculates."""
        with self._lock:
            turn = self._busy.setdefault(key, threading.Lock())
        try:
            with turn:
                with self._lock:
                    if key in self._answers:
                        self._answers.move_to_end(key)
                        return self._answers[key]
                answered = _calculated(parts, stored, checked, key)
                with self._lock:
                    self._answers[key] = answered
                    while len(self._answers) > MOST_REMEMBERED:
                        self._answers.popitem(last=False)
                return answered
        finally:
            with self._lock:
                self._busy.pop(key, None)


def key_of(parts: Host, revision: str, checked: plans.Checked) -> str:
    """What the answer to a plan of that revision depends on, as one digest."""
    fetched = Fetched(parts.documents)
    for kind in plans.SHARED:
        fetched.named(kind, checked.body.get(kind), f"/{kind}")
    for step in checked.steps:
        fetched.fill(step.calculator.inputs_schema(), step.inputs, step.place)
    versions = {step.calculator.name: step.calculator.version for step in checked.steps}
    whole = {
        "plan": revision,
        "documents": [document_json(use) for use in fetched.used],
        "calculators": versions,
        "service": service_version(),
    }
    return digest(canonical_bytes(whole))


def _calculated(parts: Host, stored: Stored, checked: plans.Checked, key: str) -> StoredAnswer:
    ran: list[StepRun] = []

    def run_one(
        calculator: Calculator, body: Mapping[str, Any], documents: Sequence[DocumentUse]
    ) -> dict[str, Any]:
        envelope = parts.envelope(calculator, body, documents)
        ran.append(StepRun(calculator, body, documents, envelope))
        return envelope

    answer = plans.run(checked, parts.documents, run_one)
    use = DocumentUse("plan", stored.id, stored.revision)
    answer["documents"] = [document_json(use), *answer["documents"]]
    by_envelope = {id(run.envelope): run for run in ran}
    runs = {
        step["id"]: by_envelope[id(step["envelope"])]
        for step in answer["steps"]
        if "envelope" in step
    }
    return StoredAnswer(stored, key, answer, runs)


def summary_of(answered: StoredAnswer) -> dict[str, Any]:
    """The verdict at a glance: findings and verdicts without the results."""
    answer = answered.answer
    levels = [finding["level"] for finding in answer["findings"]]
    return {
        "id": answered.plan.id,
        "title": answered.plan.title,
        "revision": answered.plan.revision,
        "updated_at": answered.plan.updated_at,
        "verdict": answer["verdict"],
        "stop_count": levels.count("stop"),
        "watch_count": levels.count("watch"),
        "ok_count": levels.count("ok"),
        "steps": [_step_summary(step, answered) for step in answer["steps"]],
        "findings": answer["findings"],
    }


def _step_summary(step: Mapping[str, Any], answered: StoredAnswer) -> dict[str, Any]:
    shape: dict[str, Any] = {
        "id": step["id"],
        "calculator": step["calculator"],
        "status": step["status"],
        "verdict": step["envelope"]["verdict"] if "envelope" in step else "stop",
    }
    if "envelope" in step:
        calculator = answered.runs[step["id"]].calculator
        shape["title"] = calculator.title
        shape["views"] = [
            {"name": name, "title": title} for name, title in calculator.views.items()
        ]
        shape["tabular"] = calculator.tabular
        shape["spatial"] = calculator.spatial
    if "problem" in step:
        shape["problem"] = step["problem"]
    if "skipped_because" in step:
        shape["skipped_because"] = step["skipped_because"]
    return shape
