"""What the service answered, in the form that screen and files share."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from .labels import LEVELS

Json = Mapping[str, Any]


@dataclass(frozen=True)
class Picture:
    """One drawing of a run: the view's name, and the SVG."""

    view: str
    svg: bytes


@dataclass(frozen=True)
class Sheet:
    """The table of a run: `content` is the CSV as it came."""

    header: Sequence[str]
    rows: Sequence[Sequence[str]]
    content: bytes


@dataclass(frozen=True)
class StepAnswer:
    """One step: its envelope where it is done, else why not."""

    id: str
    calculator: str
    purpose: str
    status: str
    envelope: Json = field(default_factory=dict)
    problem: Json = field(default_factory=dict)
    skipped_because: Sequence[str] = ()
    findings: Sequence[Json] = ()
    #: Of the calculator: title and summary.
    description: Json = field(default_factory=dict)
    pictures: Sequence[Picture] = ()
    sheet: Sheet | None = None

    @property
    def verdict(self) -> str:
        """ok, watch or stop; a step that was not done stops the plan."""
        level = str(self.envelope.get("verdict", "stop"))
        return level if level in LEVELS else "stop"

    @property
    def heading(self) -> str:
        """What the step is for, in the plan's words or the calculator's."""
        return self.purpose or str(self.description.get("title") or self.calculator)


@dataclass(frozen=True)
class Machine:
    """A plan's answer (or one run's: a plan of one step); `content` is what the service said."""

    title: str
    about: str
    verdict: str
    steps: Sequence[StepAnswer]
    content: bytes
    #: A short name for files and tables: "planned".
    name: str = ""

    @property
    def findings(self) -> list[tuple[StepAnswer, Json]]:
        """Every finding with its step, in the order of the steps."""
        return [(step, finding) for step in self.steps for finding in step.findings]

    def of_level(self, level: str) -> list[tuple[StepAnswer, Json]]:
        """The findings of one level."""
        return [pair for pair in self.findings if pair[1].get("level") == level]


def of_run(name: str, content: bytes, envelope: Json) -> Machine:
    """One run as a machine of one step."""
    step = StepAnswer(name, name, "", "done", envelope, findings=_findings(envelope))
    return Machine(name, "", step.verdict, [step], content)


def of_plan(plan: Json, content: bytes, answer: Json) -> Machine:
    """A plan's answer beside the plan that was sent."""
    asked = {str(step.get("id")): step for step in plan.get("steps", ()) if isinstance(step, dict)}
    merged: dict[str, list[Json]] = {}
    for finding in answer.get("findings", ()):
        merged.setdefault(str(finding.get("step")), []).append(finding)
    steps = [_step(entry, asked, merged) for entry in answer.get("steps", ())]
    return Machine(
        str(answer.get("title") or plan.get("title") or "Plan"),
        str(plan.get("about") or ""),
        str(answer.get("verdict", "stop")),
        steps,
        content,
    )


def _step(entry: Json, asked: Mapping[str, Any], merged: Mapping[str, list[Json]]) -> StepAnswer:
    id = str(entry.get("id", ""))
    envelope = entry.get("envelope") or {}
    return StepAnswer(
        id,
        str(entry.get("calculator", "")),
        str(asked.get(id, {}).get("title") or ""),
        str(entry.get("status", "done")),
        envelope,
        entry.get("problem") or {},
        tuple(entry.get("skipped_because") or ()),
        merged.get(id) or _findings(envelope),
    )


def _findings(envelope: Json) -> list[Json]:
    return [finding for finding in envelope.get("findings", ()) if isinstance(finding, dict)]


def why_not_done(step: StepAnswer) -> str:
    """One sentence on a step that has no envelope."""
    if step.status == "skipped":
        return f"Not run, since it waits for {', '.join(step.skipped_because)}."
    errors = step.problem.get("errors") or [{}]
    detail = errors[0].get("detail") or step.problem.get("detail") or "No reason was given."
    return f"{step.problem.get('title', 'Not done')}: {detail}"


def remedy_text(finding: Json) -> str:
    """What to do about a finding; "" where nothing is proposed."""
    remedy = finding.get("remedy") or {}
    proven = " (tried: this clears it)" if remedy.get("patch") is not None else ""
    return f"{remedy['message']}{proven}" if remedy.get("message") else ""
