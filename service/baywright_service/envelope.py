"""One run of one calculator: from a JSON object to the envelope, its drawing or its table."""

import csv
import io
import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from time import perf_counter
from typing import Any, TypeVar

from . import contract
from .contract import Calculator, DocumentUse, Finding, InvalidInputs, Result, TableData, svg_text
from .json_writer import NotFinite, json_bytes
from .problems import CannotCalculate, InvalidInput, errors_from, invalid_input
from .recent import Recent, Run
from .scene import scene_json
from .writers.dxf import dxf_bytes
from .writers.pdf import Page, Sheet, pdf_bytes

_T = TypeVar("_T")

JSON, SVG, CSV, PDF, DXF, SCENE = "json", "svg", "csv", "pdf", "dxf", "scene"
#: In place of a view: a page for each one that shows something. Paper only.
ALL_VIEWS = "all"

#: Of this process: each worker remembers what it calculated itself.
RECENT = Recent()


@dataclass(frozen=True)
class Answer:
    """The bytes of one representation, and where the time went: (stage, seconds)."""

    content: bytes
    timing: tuple[tuple[str, float], ...]


def perform(
    calculator: Calculator,
    body: Mapping[str, Any],
    documents: Sequence[DocumentUse],
    form: str = JSON,
    view: str = "",
    page: Page = Page(),  # noqa: B008  (frozen)
) -> Answer:
    """Validate, calculate, and write the answer as `form` (json, svg, csv, pdf, dxf, scene).

    `page` is what paper is like. Raises InvalidInput and CannotCalculate.
    """
    clock = [perf_counter()]

    def calculate() -> Run:
        inputs = calculator.load(body)
        clock.append(perf_counter())
        return Run(inputs, calculator.calculate(inputs), {})

    with refusals():
        run = RECENT.result(calculator, body, calculate)
        clock.append(perf_counter())
        if len(clock) == 2:  # remembered: nothing was validated
            clock.insert(1, clock[0])
        content = _written(calculator, run, documents, form, view, page)
    clock.append(perf_counter())
    spent = [after - before for before, after in zip(clock, clock[1:], strict=False)]
    return Answer(content, tuple(zip(("validate", "calculate", "write"), spent, strict=True)))


def computed(calculator: Calculator, body: Mapping[str, Any]) -> bytes:
    """The envelope of one run as JSON, no documents named, calculated now: of many variants none
    is worth remembering here. Raises InvalidInput and CannotCalculate."""
    with refusals():
        result = calculator.calculate(calculator.load(body))
        return json_bytes(envelope(calculator, result, ()))


def run_of(calculator: Calculator, body: Mapping[str, Any]) -> Run:
    """One run, remembered or calculated now. Raises InvalidInput and CannotCalculate."""

    def calculate() -> Run:
        inputs = calculator.load(body)
        return Run(inputs, calculator.calculate(inputs), {})

    with refusals():
        return RECENT.result(calculator, body, calculate)


@contextmanager
def refusals() -> Iterator[None]:
    """What a calculator raises becomes a problem while this lasts."""
    try:
        yield
    except InvalidInputs as error:
        raise _refused_inputs(error) from None
    except contract.CannotCalculate as error:
        raise _refused(error) from None
    except OverflowError:
        raise _beyond("A number on the way to the result") from None
    except NotFinite as error:
        if error.missing:
            raise
        raise _beyond(error.pointer) from None


def _written(
    calculator: Calculator,
    run: Run,
    documents: Sequence[DocumentUse],
    form: str,
    view: str,
    page: Page,
) -> bytes:
    if form == SVG:
        return svg_text(run.drawing(calculator, view)).encode()
    if form == DXF:
        return dxf_bytes(run.drawing(calculator, view))
    if form == PDF:
        drawn = (
            [run.drawing(calculator, view)]
            if view in calculator.views
            else calculator.drawings(run.inputs, run.result)
        )
        shown = [drawing for drawing in drawn if drawing.shapes] or drawn[:1]
        made_by = f"{calculator.name} {calculator.version}"
        return pdf_bytes([Sheet(drawing, made_by) for drawing in shown], calculator.title, page)
    if form == CSV:
        return csv_bytes(calculator.table(run.inputs, run.result))
    if form == SCENE:
        return json_bytes(scene_json(calculator.scene(run.inputs, run.result), run.result.verdict))
    return json_bytes(envelope(calculator, run.result, documents))


def envelope(
    calculator: Calculator, result: Result, documents: Sequence[DocumentUse]
) -> dict[str, Any]:
    """What a run answers with."""
    called_for = [caution.source for caution in result.cautions if caution.source is not None]
    return {
        "calculator": calculator.name,
        "version": calculator.version,
        "verdict": result.verdict,
        "result": result.value,
        "findings": [finding_json(finding) for finding in result.findings],
        "assumptions": list(result.assumptions),
        "cautions": once([*(caution.text for caution in result.cautions), *calculator.cautions]),
        "sources": [source_json(source) for source in once([*calculator.sources, *called_for])],
        "documents": [document_json(use) for use in documents],
    }


def once(items: Sequence[_T]) -> list[_T]:
    """The items in their order, each but the first time left out."""
    return list(dict.fromkeys(items))


def finding_json(finding: Finding) -> dict[str, Any]:
    """A finding; members that say nothing are left out."""
    shape: dict[str, Any] = {
        "code": finding.code,
        "level": finding.level,
        "message": finding.message,
        "at": list(finding.at),
    }
    if finding.measure is not None:
        measure = finding.measure
        limit = {} if measure.limit is None else {"limit": measure.limit}
        shape["measure"] = {"value": measure.value, **limit, "unit": measure.unit}
    if finding.remedy is not None:
        patch = {} if finding.remedy.patch is None else {"patch": finding.remedy.patch}
        shape["remedy"] = {"message": finding.remedy.message, **patch}
    return shape


def source_json(source: contract.Source) -> dict[str, Any]:
    """A source; the clause only where there is one."""
    return {"title": source.title, **({"clause": source.clause} if source.clause else {})}


def document_json(use: DocumentUse) -> dict[str, Any]:
    """A stored document that took part."""
    return {"kind": use.kind, "id": use.id, "revision": use.revision}


def csv_bytes(table: TableData) -> bytes:
    """RFC 4180 with one header row: full digits, and no cell a spreadsheet takes for a formula."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow([_cell(name) for name in table.columns])
    writer.writerows([[_cell(value) for value in row] for row in table.rows])
    return file.getvalue().encode()


def _cell(value: Any) -> str:
    if hasattr(value, "item"):
        value = value.item()
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        if not math.isfinite(value):
            raise ValueError("a table holds a number that is not finite")
        return repr(value)
    text = str(value)
    guarded = not isinstance(value, int) and text.startswith(("=", "+", "-", "@", "\t", "\r"))
    return f"'{text}" if guarded else text


def _refused_inputs(error: InvalidInputs) -> InvalidInput:
    return invalid_input(errors_from(error.faults))


def _beyond(what: str) -> CannotCalculate:
    """Valid inputs so extreme that a result passes the largest double."""
    detail = f"{what} is too large for a computer's numbers; the inputs are too extreme."
    return _refused(contract.CannotCalculate("", detail))


def _refused(error: contract.CannotCalculate) -> CannotCalculate:
    fault = {"pointer": error.pointer, "code": "cannot-calculate", "detail": error.reason}
    return CannotCalculate(error.reason, [fault])
