"""One run with everything a report shows of it, as one piece of work for an executor."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..contract import Calculator, DocumentUse, Inputs, Result, TableData
from ..drawing import Drawing
from ..envelope import RECENT, envelope, refusals
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

    def calculate() -> tuple[Inputs, Result]:
        inputs = calculator.load(body)
        return inputs, calculator.calculate(inputs)

    with refusals():
        inputs, result = RECENT.result(calculator, body, calculate)
        shown = calculator.views if calculator.report_views is None else calculator.report_views
        return Illustrated(
            plain(envelope(calculator, result, documents)),
            {view: calculator.draw(inputs, result, view) for view in shown},
            calculator.table(inputs, result) if calculator.tabular else None,
        )
