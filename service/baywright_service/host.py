"""What the routes share: settings, calculators, documents, and the way to run a calculation."""

import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import current_app

from .batches.manager import Batches
from .computed import Computed
from .contract import Calculator, DocumentUse, InputSchema
from .documents import Documents, Fetched
from .envelope import JSON, Answer, perform
from .execution import Executor, outcome
from .problems import Internal, Problem, errors_from, invalid_input
from .registry import Registry
from .settings import Settings
from .writers.pdf import Page

API_VERSION = "1.0.0"

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True)
class Host:
    """One service's parts; an application holds exactly one."""

    settings: Settings
    registry: Registry
    documents: Documents
    executor: Executor
    batches: Batches
    computed: Computed

    def fetched(self, schema: InputSchema, body: Any) -> tuple[Any, tuple[DocumentUse, ...]]:
        """`body` with stored documents in place, and which they are. Raises InvalidInput."""
        fetched = Fetched(self.documents)
        filled = fetched.fill(schema, body)
        if fetched.faults:
            raise invalid_input(errors_from(fetched.faults))
        return filled, fetched.used

    def calculate(
        self,
        calculator: Calculator,
        body: Mapping[str, Any],
        documents: Sequence[DocumentUse],
        form: str = JSON,
        view: str = "",
        page: Page = Page(),  # noqa: B008  (frozen)
    ) -> Answer:
        """One run within the time limit. Raises the problems of `perform`, and TooLong."""
        limit_s = self.settings.calculation_limit_s
        arguments = (calculator, body, tuple(documents), form, view, page)
        answer: Answer = outcome(self.executor.run(perform, arguments, limit_s), limit_s)
        return answer

    def envelope(
        self, calculator: Calculator, body: Mapping[str, Any], documents: Sequence[DocumentUse]
    ) -> dict[str, Any]:
        """The envelope of one run as plain JSON, remembered where an equal one was made before;
        nothing inside it may be changed. A fault of ours becomes Internal."""
        return self.computed.envelope(calculator, body, documents, self._compute)

    def close(self) -> None:
        """Stop what runs, and let go of the files."""
        self.batches.close()
        self.executor.close()
        self.computed.close()
        self.documents.close()

    def _compute(self, calculator: Calculator, body: Mapping[str, Any]) -> bytes:
        try:
            return self.calculate(calculator, body, ()).content
        except Problem:
            raise
        except Exception as error:
            _LOG.exception("calculator %s failed", calculator.name)
            raise Internal("The calculator made a mistake; see the service's log.") from error


def host() -> Host:
    """The parts of the service this request came to."""
    found: Host = current_app.extensions["baywright"]
    return found


def limits(settings: Settings) -> dict[str, Any]:
    """What is published of the settings."""
    return {
        "body_bytes": settings.body_limit_bytes,
        "headers_bytes": settings.header_limit_bytes,
        "uri_bytes": settings.uri_limit_bytes,
        "depth": settings.depth_limit,
        "text_characters": 2000,
        "calculation_s": settings.calculation_limit_s,
        "calculation_mib": settings.memory_limit_mib,
        "variants": settings.variant_limit,
        "batches": settings.batch_limit,
        "batch_days": settings.batch_days,
        "streams": settings.stream_limit,
    }
