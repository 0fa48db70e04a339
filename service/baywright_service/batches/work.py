"""What a worker does with a few variants of a batch: each run whole, one after the other."""

import logging
import pickle
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from time import perf_counter
from typing import Any

from .. import plans
from ..computed import Computed
from ..contract import Calculator, DocumentUse
from ..documents import Fetched
from ..envelope import computed
from ..json_patch import BadPatch
from ..pointers import PointerToNowhere
from ..problems import Internal, PlanNotValid, Problem, errors_from, invalid_input
from ..registry import Registry
from . import keeping
from .deadline import within
from .model import Base, Outcome
from .overrides import applied
from .shelf import Shelf
from .varied import varied

_LOG = logging.getLogger(__name__)

#: Batches that a worker has ready at a time.
_READY = 4


@dataclass(frozen=True)
class Order:
    """What the variants of one batch have in common. `in_worker`: a worker process may be ended
    with a calculation that does not end."""

    base: Base
    limit_s: float
    in_worker: bool
    remembered: str = ""
    remembered_mib: int = 0

    def packed(self) -> bytes:
        """As bytes, made once and sent with every chunk."""
        return pickle.dumps(self, pickle.HIGHEST_PROTOCOL)


@dataclass(frozen=True)
class Carried:
    """The outcomes of a chunk, how long it took, and how much of that calculators took."""

    outcomes: tuple[Outcome, ...]
    spent_s: float
    calculating_s: float


def carry_out(
    packed_order: bytes,
    calculators: Mapping[str, Calculator],
    variants: Sequence[tuple[int, Mapping[str, Any]]],
) -> Carried:
    """The outcome of each variant: (index, overrides).

    The calculators come by themselves, so that a worker imports them before its time begins.
    """
    started = perf_counter()
    bench = _bench(packed_order, calculators)
    bench.calculating_s = 0.0
    outcomes = tuple(bench.outcome(index, overrides) for index, overrides in variants)
    bench.remembered.flush()
    return Carried(outcomes, perf_counter() - started, bench.calculating_s)


class Bench:
    """Everything about one batch that its variants share, ready in this process."""

    def __init__(self, order: Order, calculators: Mapping[str, Calculator]) -> None:
        self._order, self._base = order, order.base
        self._registry = Registry(calculators)
        self._shelf = Shelf(order.base.documents)
        self._checked: plans.Checked | None = None
        self.remembered = _computed(order.remembered, order.remembered_mib)
        self.calculating_s = 0.0

    def outcome(self, index: int, overrides: Mapping[str, Any]) -> Outcome:
        """What comes of one variant. Raises MemoryError only."""
        try:
            body = applied(self._base.body, overrides)
            run = self._run_calculator if self._base.calculator else self._run_plan
            return run(index, body)
        except Problem as problem:
            return Outcome(index, problem=problem.body())
        except (BadPatch, PointerToNowhere) as error:
            detail = f"The variant does not fit its plan: {error}."
            return Outcome(index, problem=PlanNotValid(detail).body())
        except MemoryError:
            raise
        except Exception:
            _LOG.exception("variant %d failed", index)
            return Outcome(index, problem=_ours().body())

    def _run_calculator(self, index: int, inputs: Any) -> Outcome:
        calculator = self._registry.find(self._base.calculator)
        fetched = Fetched(self._shelf)
        body = fetched.fill(calculator.inputs_schema(), inputs)
        if fetched.faults:
            raise invalid_input(errors_from(fetched.faults))
        envelope = self._envelope(calculator, body, fetched.used)
        return Outcome(index, envelope["verdict"], keeping.of_run(self._base.keep, envelope))

    def _run_plan(self, index: int, body: Any) -> Outcome:
        checked = self._plan(body)
        outcomes = plans.outcomes_of(checked, self._shelf, self._envelope)
        verdict = plans.verdict_of(outcomes)
        ids = [step.id for step in checked.steps]
        kept = keeping.of_plan(self._base.keep, verdict, ids, outcomes)
        problems = [outcomes[id]["problem"] for id in ids if "problem" in outcomes[id]]
        return Outcome(index, verdict, kept, problems[0] if problems else None)

    def _plan(self, body: Any) -> plans.Checked:
        if self._checked is None:
            try:
                self._checked = plans.check(self._base.body, self._registry, self._shelf)
            except PlanNotValid:  # its variants may mend it
                return plans.check(body, self._registry, self._shelf)
        return varied(self._checked, body, self._registry, self._shelf)

    def _envelope(
        self, calculator: Calculator, body: Mapping[str, Any], documents: Sequence[DocumentUse]
    ) -> dict[str, Any]:
        return self.remembered.envelope(calculator, body, documents, self._compute)

    def _compute(self, calculator: Calculator, body: Mapping[str, Any]) -> bytes:
        started = perf_counter()
        try:
            return within(
                self._order.limit_s,
                lambda: computed(calculator, body),
                in_worker=self._order.in_worker,
            )
        except (Problem, MemoryError):
            raise
        except Exception as error:
            _LOG.exception("calculator %s failed", calculator.name)
            raise _ours() from error
        finally:
            self.calculating_s += perf_counter() - started


def _ours() -> Internal:
    return Internal("The calculator made a mistake; see the service's log.")


_benches: OrderedDict[bytes, Bench] = OrderedDict()


def _bench(packed_order: bytes, calculators: Mapping[str, Calculator]) -> Bench:
    """The bench of an order, made at its first chunk."""
    if packed_order not in _benches:
        _benches[packed_order] = Bench(pickle.loads(packed_order), calculators)
    bench = _benches[packed_order]
    _benches.move_to_end(packed_order)
    while len(_benches) > _READY:
        _benches.popitem(last=False)
    return bench


@cache
def _computed(path: str, limit_mib: int) -> Computed:
    return Computed(path, limit_mib)
