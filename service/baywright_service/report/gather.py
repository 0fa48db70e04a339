"""From an answered plan to its report: what was found, drawn and listed, put in words."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from ..contract import Calculator, TableData
from ..drawing import Drawing
from ..plans import Step
from ..schemas import json_schema
from .model import LEVELS, Chapter, Figure, Point, Table, Telling
from .words import Facts, measure_text, number_text, plain_name, remedy_text, sentence
from .work import Illustrated

MOST_FACTS, MOST_ROWS = 40, 300


def telling_of(
    plan: Mapping[str, Any],
    steps: Sequence[Step],
    answer: Mapping[str, Any],
    illustrated: Mapping[str, Illustrated],
    name: str = "",
) -> Telling:
    """The plan told step by step; `illustrated` by the ids of the steps that were done."""
    titles = {step["id"]: step.get("title", "") for step in plan["steps"]}
    calculators = {step.id: step.calculator for step in steps}
    chapters = [
        _chapter(entry, titles[entry["id"]], calculators[entry["id"]], illustrated)
        for entry in answer["steps"]
    ]
    shared = _shared_cautions(chapters)
    return Telling(
        name,
        plan.get("title") or "Plan",
        plan.get("about", ""),
        answer["verdict"],
        [
            replace(chapter, cautions=[text for text in chapter.cautions if text not in shared])
            for chapter in chapters
        ],
        shared,
        [f"{use['kind']} {use['id']}, revision {use['revision']}" for use in answer["documents"]],
    )


def _shared_cautions(chapters: Sequence[Chapter]) -> list[str]:
    given = [chapter.cautions for chapter in chapters if not chapter.reasons]
    return [text for text in given[0] if all(text in other for other in given)] if given else []


def _chapter(
    entry: Mapping[str, Any],
    title: str,
    calculator: Calculator,
    illustrated: Mapping[str, Illustrated],
) -> Chapter:
    chapter = Chapter(
        entry["id"],
        title or calculator.title,
        calculator.summary,
        f"{calculator.name} {calculator.version}",
        "stop",
        "",
    )
    if "envelope" not in entry:
        reasons = list(_reasons(entry))
        return replace(chapter, headline=reasons[0], reasons=reasons)
    envelope = entry["envelope"]
    points = [_point(finding) for level in LEVELS for finding in _of(envelope, level)]
    made = illustrated[entry["id"]]
    return replace(
        chapter,
        verdict=envelope["verdict"],
        headline=points[0].message if points else "Nothing to report.",
        points=points,
        figures=list(_figures(calculator, made.drawings)),
        facts=Facts(json_schema(calculator.result_schema)).of(envelope["result"])[:MOST_FACTS],
        table=_table(calculator, made.table) if made.table and made.table.rows else None,
        assumptions=envelope["assumptions"],
        cautions=envelope["cautions"],
        sources=[", ".join(source.values()) for source in envelope["sources"]],
    )


def _of(envelope: Mapping[str, Any], level: str) -> list[Mapping[str, Any]]:
    return [finding for finding in envelope["findings"] if finding["level"] == level]


def _point(finding: Mapping[str, Any]) -> Point:
    return Point(
        finding["level"],
        finding["message"],
        measure_text(finding.get("measure")),
        remedy_text(finding.get("remedy")),
    )


def _reasons(entry: Mapping[str, Any]) -> Iterator[str]:
    if entry["status"] == "skipped":
        yield f"Not run, since it waits for {', '.join(entry['skipped_because'])}."
        return
    problem = entry["problem"]
    yield f"{problem['title']}: {problem['detail']}"
    for error in problem.get("errors", ()):
        place = error.get("pointer")
        yield f"{place}: {error['detail']}" if place else error["detail"]


def _figures(calculator: Calculator, drawings: Mapping[str, Drawing]) -> Iterator[Figure]:
    for view, drawing in drawings.items():
        if drawing.shapes:
            yield Figure(view, calculator.views[view], drawing)


def _table(calculator: Calculator, table: TableData) -> Table:
    """The first rows; columns that hold nothing in them are left out, but not the first."""
    shown = table.rows[:MOST_ROWS]
    cells = [[_cell(value) for value in row] for row in shown]
    kept = [k for k in range(len(table.columns)) if k == 0 or any(row[k] for row in cells)]
    return Table(
        calculator.table_title,
        [_column_name(table.columns[k]) for k in kept],
        [[row[k] for k in kept] for row in cells],
        [all(row[k] is None or _is_number(row[k]) for row in shown) for k in kept],
        len(table.rows),
    )


def _column_name(field: str) -> str:
    name, unit = plain_name(field)
    return f"{sentence(name)}, {unit}" if unit else sentence(name)


def _is_number(value: Any) -> bool:
    return not isinstance(value, (bool, str))


def _cell(value: Any) -> str:
    plain = value.item() if hasattr(value, "item") else value
    if plain is None:
        return ""
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    return number_text(plain) if isinstance(plain, (int, float)) else str(plain)
