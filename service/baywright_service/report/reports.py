"""Reports of checked plans: answered step by step, told, and the last ones remembered.

Nothing of a report depends on when it is asked for, so what is remembered is what would be made.
"""

import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from typing import Any

from flask import current_app

from .. import plans
from ..contract import Calculator, DocumentUse
from ..execution import outcome
from ..host import Host
from ..json_writer import canonical_bytes, digest
from ..problems import Internal, Problem
from ..stored_answers import key_of
from .gather import telling_of
from .html import report_html
from .model import Report, Telling
from .work import Illustrated, illustrate

MOST_REMEMBERED = 4
HTML, PDF = "html", "pdf"


class Tellings:
    """The plans told last."""

    def __init__(self) -> None:
        self._told: OrderedDict[str, Telling] = OrderedDict()
        self._lock = threading.Lock()

    def of(
        self,
        parts: Host,
        checked: plans.Checked,
        documents: Sequence[Mapping[str, Any]] = (),
        name: str = "",
    ) -> Telling:
        """The plan told under `name`, remembered or calculated now; it came from `documents`."""
        revision = digest(canonical_bytes(checked.body))
        key = f"{name}\n{documents}\n{key_of(parts, revision, checked)}"
        with self._lock:
            if key in self._told:
                self._told.move_to_end(key)
                return self._told[key]
        told = _told(parts, checked, documents, name)
        with self._lock:
            self._told[key] = told
            while len(self._told) > MOST_REMEMBERED:
                self._told.popitem(last=False)
        return told


def written(parts: Host, report: Report, form: str) -> bytes:
    """The report as HTML or PDF, within the time limit of a calculation. Raises TooLong."""
    limit_s = parts.settings.calculation_limit_s
    content: bytes = outcome(parts.executor.run(_written, (report, form), limit_s), limit_s)
    return content


def _written(report: Report, form: str) -> bytes:
    if form == PDF:
        from .pdf import report_pdf

        return report_pdf(report)
    return report_html(report)


def _told(
    parts: Host, checked: plans.Checked, documents: Sequence[Mapping[str, Any]], name: str
) -> Telling:
    runs: dict[int, Illustrated] = {}

    def run_one(
        calculator: Calculator, body: Mapping[str, Any], documents: Sequence[DocumentUse]
    ) -> dict[str, Any]:
        made = _illustrated(parts, calculator, body, documents)
        runs[id(made.envelope)] = made
        return made.envelope

    answer = plans.run(checked, parts.documents, run_one)
    done = {
        step["id"]: runs[id(step["envelope"])] for step in answer["steps"] if "envelope" in step
    }
    answer["documents"] = [*documents, *answer["documents"]]
    return telling_of(checked.body, checked.steps, answer, done, name)


def _illustrated(
    parts: Host,
    calculator: Calculator,
    body: Mapping[str, Any],
    documents: Sequence[DocumentUse],
) -> Illustrated:
    limit_s = parts.settings.calculation_limit_s
    arguments = (calculator, body, tuple(documents))
    try:
        made: Illustrated = outcome(parts.executor.run(illustrate, arguments, limit_s), limit_s)
    except Problem:
        raise
    except Exception as error:
        current_app.logger.exception("calculator %s failed", calculator.name)
        raise Internal("The calculator made a mistake; see the service's log.") from error
    return made
