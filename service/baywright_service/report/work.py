"""One run with everything a report shows of it, as one piece of work for an executor."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..contract import Calculator, DocumentUse, TableData
from ..drawing import Drawing
from ..envelope import envelope, refusals, run_of
from ..json_writer import plain


@dataclass(frozen=True)
class Illustrated:
    """The envelope of a run as plain JSON, its pictures by view, and its table."""

    envelope: dict[str, Any]
    drawings: Mapping[str, Drawing]
    table: TableData | None = None


def illustrate(
    calculator: Calculator, body: Mapping[str, Any], documents: Sequence[DocumentUse]
) -> Illustrated:
    """Validate, calculate, draw, list. Raises InvalidInput and CannotCalculate."""

    run = run_of(calculator, body)
    shown = calculator.views if calculator.report_views is None else calculator.report_views
    with refusals():
        return Illustrated(
            plain(envelope(calculator, run.result, documents)),
            {view: run.drawing(calculator, view) for view in shown},
            calculator.table(run.inputs, run.result) if calculator.tabular else None,
        )
