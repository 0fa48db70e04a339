"""What --output writes: the answer as JSON, drawings as SVG, tables as CSV, one report."""

import json
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, TypeGuard

from .answers import Json, Machine
from .api import HTML, PDF, Api
from .errors import BadUsage

REPORT = "report"


def write_machine(folder: Path, machine: Machine) -> list[Path]:
    """The answer as it came, and each step's envelope, drawings, table and the plans it proposes.

    Raises BadUsage.
    """
    written = [_write(folder / "plan.json", machine.content)] if len(machine.steps) > 1 else []
    for step in machine.steps:
        for id, plan in plans_in(step.envelope.get("result")):
            name = file_name(f"{step.id}-{id}", ".yaml")
            written.append(_write(folder / name, plan_text(plan)))
        if step.status == "done":
            alone = len(machine.steps) == 1 and step.id == step.calculator
            content = machine.content if alone else _json(step.envelope)
            written.append(_write(folder / file_name(step.id, ".json"), content))
        for picture in step.pictures:
            name = file_name(f"{step.id}-{picture.view}", ".svg")
            written.append(_write(folder / name, picture.svg))
        if step.sheet:
            written.append(_write(folder / file_name(step.id, ".csv"), step.sheet.content))
    return written


def write_report(
    folder: Path, api: Api, plans: Sequence[Json], title: str = "", about: str = ""
) -> Path:
    """One report of all `plans` ({"name", "plan"}), as a page and on paper; the page's path.

    Raises BadUsage.
    """
    story = {"plans": list(plans), **{k: v for k, v in (("title", title), ("about", about)) if v}}
    page = _write(folder / f"{REPORT}.html", api.report(story, HTML).content)
    _write(folder / f"{REPORT}.pdf", api.report(story, PDF).content)
    return page


def plans_in(result: object) -> Iterator[tuple[str, Json]]:
    """Every object of a result's lists that holds a plan with steps: its id, and the plan."""
    lists = (
        [each for each in result.values() if isinstance(each, list)] if _is_object(result) else []
    )
    for entry in (entry for each in lists for entry in each if _is_object(entry)):
        plan = entry.get("plan")
        if _is_object(plan) and isinstance(plan.get("steps"), list):
            yield str(entry.get("id", "plan")), plan


def plan_text(plan: Json) -> bytes:
    """A plan as a file to read, change and run."""
    import yaml

    text: str = yaml.safe_dump(plan, sort_keys=False, allow_unicode=True, width=100)
    return text.encode()


def file_name(id: str, suffix: str) -> str:
    """A name that stays in its folder, whatever the service called things.

    >>> file_name("../etc", ".csv")
    '-etc.csv'
    """
    return re.sub(r"[^A-Za-z0-9_-]+", "-", id)[:100] + suffix


def ready(folder: Path) -> None:
    """Make the folder before anything is calculated. Raises BadUsage."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise _cannot(folder, error) from error


def _is_object(value: object) -> TypeGuard[dict[str, Any]]:
    return isinstance(value, dict)


def _json(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _write(path: Path, content: bytes) -> Path:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise _cannot(path, error) from error
    return path


def _cannot(path: Path, error: OSError) -> BadUsage:
    reason = error.strerror or str(error)
    return BadUsage(f"Cannot write {path}: {reason}.", "Name a folder of your own: --output DIR")
