"""What --output writes: the answer as JSON, drawings as SVG, tables as CSV, one report."""

import json
import re
from collections.abc import Sequence
from pathlib import Path

from .answers import Machine
from .errors import BadUsage

REPORT = "report.html"


def write_machine(folder: Path, machine: Machine) -> list[Path]:
    """The answer as it came, and each step's envelope, drawings and table. Raises BadUsage."""
    written = [_write(folder / "plan.json", machine.content)] if len(machine.steps) > 1 else []
    for step in machine.steps:
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
    folder: Path, machines: Sequence[Machine], title: str = "", about: str = ""
) -> Path:
    """One page on all of them. Raises BadUsage."""
    from .report import report_html

    page = report_html(title or machines[0].title, about, machines)
    return _write(folder / REPORT, page.encode("utf-8"))


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
