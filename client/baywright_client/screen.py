"""Answers and errors on a terminal: verdict first, what to do next, then the numbers.

A verdict is a word and a shape; colour only repeats them, on a terminal, unless NO_COLOR is set.
"""

import os
import shutil
import sys
import textwrap
from collections.abc import Callable, Mapping, Sequence

import click

from .answers import Json, Machine, Sheet, StepAnswer, remedy_text, why_not_done
from .errors import BadFile, ClientError, Complaint, Place, Refused
from .labels import (
    HEADINGS,
    PLAIN_SHAPES,
    SHAPES,
    cell_text,
    facts,
    measure_text,
    name_and_unit,
)
from .tables import cut, text_table

_COLOURS = {"ok": "green", "watch": "yellow", "stop": "red"}
#: Rows of a table and of facts that are shown without being asked.
MOST_ROWS, MOST_FACTS = 20, 30
Where = Callable[[str], Place | None]


def width() -> int:
    """Columns to write in."""
    return max(40, min(shutil.get_terminal_size((100, 24)).columns, 110))


def coloured(stream: object = None) -> bool:
    """Whether colour is wanted on `stream` (standard output by default)."""
    target = sys.stdout if stream is None else stream
    is_terminal = bool(getattr(target, "isatty", lambda: False)())
    return is_terminal and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def shape(level: str) -> str:
    """✔ ! ✖, or letters where the terminal has no such signs."""
    try:
        "✔✖→…".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return PLAIN_SHAPES.get(level, "?")
    return SHAPES.get(level, "?")


def badge(level: str) -> str:
    """The verdict as shape and word."""
    text = f"{shape(level)} {level}"
    return click.style(text, fg=_COLOURS.get(level), bold=True) if coloured() else text


def strong(text: str) -> str:
    """`text` in bold where the terminal can."""
    return click.style(text, bold=True) if coloured() else text


def say(text: str = "") -> None:
    """One line of the answer; signs the terminal lacks are replaced."""
    encoding = sys.stdout.encoding or "utf-8"
    click.echo(text.encode(encoding, "replace").decode(encoding))


def whisper(text: str) -> None:
    """One line beside the answer, on standard error."""
    click.echo(text, err=True)


def paragraph(text: str, first: str = "", then: str = "") -> None:
    """`text` wrapped, `first` before its first line and `then` before the others."""
    lines = textwrap.wrap(
        text, width(), initial_indent=first, subsequent_indent=then, break_long_words=False
    )
    for line in lines or [first]:
        say(line)


def show_machine(machine: Machine, where: Where, *, most: int = 1000) -> None:
    """Verdict and findings of a plan, grouped by what to do, then a line for each step."""
    say(f"{strong(machine.title)}   {badge(machine.verdict)}")
    show_findings(machine, where, most=most)
    say()
    say(strong("Steps"))
    room = max(len(step.id) for step in machine.steps) if machine.steps else 0
    for step in machine.steps:
        line = f"  {shape(step.verdict)} {step.verdict:<5}  {step.id:<{room}}  {step.heading}"
        say(cut(line, width()))


def show_findings(machine: Machine, where: Where, *, most: int = 1000) -> None:
    """What to change, what to watch, what is good; each with number, limit and remedy.

    Of each step all that must change is shown, and `most` of the other findings of a level.
    """
    for step in machine.steps:
        if step.status != "done":
            say()
            paragraph(why_not_done(step), f"  {shape('stop')} {_name(machine, step)}", "      ")
            _show_errors(step.problem.get("errors") or (), where)
    for level in ("stop", "watch", "ok"):
        findings = machine.of_level(level)
        shown = findings if level == "stop" else _first_of_each(findings, most)
        if not findings:
            continue
        say()
        say(strong(HEADINGS[level]))
        for step, finding in shown:
            _show_finding(_name(machine, step), finding, where)
        if len(shown) < len(findings):
            say(f"  … and {len(findings) - len(shown)} more in the report.")


def _first_of_each(
    findings: Sequence[tuple[StepAnswer, Json]], most: int
) -> list[tuple[StepAnswer, Json]]:
    counts: dict[str, int] = {}
    kept = []
    for step, finding in findings:
        counts[step.id] = counts.get(step.id, 0) + 1
        if counts[step.id] <= most:
            kept.append((step, finding))
    return kept


def _name(machine: Machine, step: StepAnswer) -> str:
    return f"{step.id}: " if len(machine.steps) > 1 else ""


def _show_finding(name: str, finding: Json, where: Where) -> None:
    level = str(finding.get("level", "ok"))
    paragraph(f"{name}{finding.get('message', '')}", f"  {shape(level)} ", "    ")
    beside = [measure_text(finding.get("measure"))]
    beside += [str(place) for place in map(where, finding.get("at", ())) if place][:1]
    if any(beside):
        say("      " + "   ".join(part for part in beside if part))
    if remedy := remedy_text(finding):
        paragraph(remedy, f"      {_arrow()} ", "        ")


def _arrow() -> str:
    return "→" if shape("stop") == SHAPES["stop"] else "->"


def show_result(step: StepAnswer, sheet: Sheet | None) -> None:
    """The single numbers of a result, and its table."""
    rows = facts(step.envelope.get("result"))
    shown = rows[:MOST_FACTS]
    room = min(40, max((len(fact.name) for fact in shown), default=0))
    group = None
    for fact in shown:
        if fact.group != group:
            group = fact.group
            say()
            say(strong(group.capitalize() or "Results"))
        paragraph(fact.text, f"  {cut(fact.name, room):<{room}}  ", " " * (room + 4))
    _more(len(rows) - len(shown), "values")
    if sheet and sheet.rows:
        show_sheet(sheet)


def show_sheet(sheet: Sheet) -> None:
    """The table of a run, its first rows."""
    say()
    header = []
    for field in sheet.header:
        name, unit = name_and_unit(field)
        header.append(f"{name} {unit}".strip())
    rows = [[cell_text(cell) for cell in row] for row in sheet.rows[:MOST_ROWS]]
    for line in text_table(header, rows, width=width()):
        say(line)
    _more(len(sheet.rows) - MOST_ROWS, "rows")


def _more(count: int, what: str) -> None:
    if count > 0:
        say(f"  … and {count} more {what}: --output DIR writes them all.")


def show_cautions(cautions: Sequence[str]) -> None:
    """What an answer must not be taken for."""
    if cautions:
        say()
        for caution in cautions:
            paragraph(caution, "  ", "  ")


def show_before_and_after(machines: Sequence[Machine]) -> None:
    """The verdict of each step in each plan, side by side."""
    ids = list(dict.fromkeys(step.id for machine in machines for step in machine.steps))
    rows = []
    for id in ids:
        steps = [next((s for s in m.steps if s.id == id), None) for m in machines]
        title = next(step.heading for step in steps if step)
        cells = [f"{shape(s.verdict)} {s.verdict}" if s else "" for s in steps]
        rows.append([title, *cells])
    overall = [f"{shape(m.verdict)} {m.verdict}" for m in machines]
    header = ["step", *[machine.name for machine in machines]]
    for line in text_table(header, [*rows, ["the whole plan", *overall]], width=width()):
        say(line)


# Errors


def complain(error: ClientError) -> None:
    """An error on standard error: what, where, and what to do next."""
    next_step = error.next_step
    if isinstance(error, BadFile):
        for complaint in error.complaints:
            whisper(_complaint(complaint))
    elif isinstance(error, Refused):
        whisper(f"baywright: refused: {error.problem.get('title', '')}. {error.message}".rstrip())
        errors = error.problem.get("errors") or ()
        _show_errors(errors, error.where, whisper)
        left = int(error.problem.get("errors_total", len(errors))) - len(errors)
        if left > 0:
            whisper(f"  … and {left} more.")
        next_step = next_step or _next_after(error)
    else:
        whisper(f"baywright: {error.message}")
    if next_step:
        whisper(f"  {next_step}")


def _complaint(complaint: Complaint) -> str:
    start = f"{complaint.place}: " if complaint.place else "baywright: "
    return f"{start}{f'{complaint.pointer}: ' if complaint.pointer else ''}{complaint.message}"


def _show_errors(errors: Sequence[Json], where: Where, write: Callable[[str], None] = say) -> None:
    for entry in errors:
        pointer = entry.get("pointer")
        name = pointer if pointer is not None else entry.get("parameter") or entry.get("header")
        place = where(str(pointer)) if pointer is not None else None
        at = f"   ({place})" if place else ""
        write(f"  {name or '(the whole)'}: {entry.get('detail', entry.get('code', ''))}{at}")


_NEXT: Mapping[str, str] = {
    "unauthenticated": "Put the token in BAYWRIGHT_TOKEN, or the name of its file in "
    "BAYWRIGHT_TOKEN_FILE.",
    "not-found": "See what there is with: baywright list, baywright kit list, stock list, "
    "plan list",
    "invalid-input": "See what it takes with: baywright show NAME",
    "plan-not-valid": "See the calculators with: baywright list, and what one takes with: "
    "baywright show NAME",
    "precondition-failed": "Somebody changed it since. Read it again with get, then repeat.",
    "calculation-limit": "Ask for less at once, or raise BAYWRIGHT_CALCULATION_LIMIT_S where the "
    "service runs.",
    "body-too-large": "Send less at once, or raise BAYWRIGHT_BODY_LIMIT_BYTES where the service "
    "runs.",
}


def _next_after(error: Refused) -> str:
    kind = str(error.problem.get("type", "")).rpartition("/")[2]
    return _NEXT.get(kind, "")


def nowhere(pointer: str) -> Place | None:
    """For answers that belong to no file."""
    return None
