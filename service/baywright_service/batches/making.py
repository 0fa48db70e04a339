"""From the body of a request to everything a new batch is made of."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from ..contract import Calculator, Fault
from ..documents import Documents, Fetched
from ..fields import flatten_faults
from ..pointers import resolve
from ..problems import errors_from, invalid_input
from ..registry import Registry
from .differences import stands
from .expanding import Expander, in_order
from .model import Base, Variant
from .results import MOST_COLUMNS
from .schemas import PRODUCT, BatchSchema, told
from .variants import Expansion


@dataclass(frozen=True)
class Making:
    """A new batch: what people read back of the request, the base, and its variants."""

    request: Mapping[str, Any]
    base: Base
    variants: Iterable[Variant]
    title: str


def making_of(body: Any, registry: Registry, store: Documents, limit: int) -> Making:
    """What `body` (read with its nulls) asks for. Raises InvalidInput with every fault of it."""
    asked, faults = flatten_faults(BatchSchema(), told(body))
    if faults:
        raise invalid_input(in_order(errors_from(faults)))
    base, calculator = _base(asked, registry, store)
    expansion = Expander(base, calculator, registry, store).expanded(asked, limit)
    return _made(asked, calculator, expansion)


def single(base: Mapping[str, Any], calculator: Calculator | None) -> Making:
    """A batch of one: a plan, or the inputs of `calculator`, as they are."""
    return _made({}, calculator, Expansion(base, written=[{}]))


def _base(
    asked: Mapping[str, Any], registry: Registry, store: Documents
) -> tuple[Mapping[str, Any], Calculator | None]:
    if ("plan" in asked) == ("calculator" in asked):
        place = "/calculator" if "plan" in asked else "/plan"
        code = "not-unique" if "plan" in asked else "missing"
        raise _refused(place, Fault(code, "Give a plan, or the calculator and its inputs."))
    if "plan" in asked:
        if "inputs" in asked:
            raise _refused("/inputs", Fault("unknown-field", "A plan holds its inputs itself."))
        fetched = Fetched(store)
        plan = fetched.named("plan", asked["plan"], "/plan")
        if fetched.faults:
            raise invalid_input(errors_from(fetched.faults))
        return plan, None
    name = asked["calculator"]
    if name not in registry.calculators:
        detail = f"No calculator of that name.{registry.hint(name)}"
        raise _refused("/calculator", Fault("unknown-reference", detail))
    return asked.get("inputs", {}), registry.calculators[name]


def _refused(pointer: str, fault: Fault) -> Exception:
    return invalid_input(errors_from([(pointer, fault)]))


def _made(
    asked: Mapping[str, Any],
    calculator: Calculator | None,
    expansion: Expansion,
) -> Making:
    base, name = expansion.base, calculator.name if calculator else ""
    keep = tuple(asked.get("keep", ()))
    request = {
        **({"calculator": name} if name else {}),
        "combine": asked.get("combine", PRODUCT),
        "varied": [_varied(base, pointer) for pointer in expansion.pointers[:MOST_COLUMNS]],
        "keep": list(keep),
    }
    title = asked.get("title") or name or _title(base)
    return Making(request, Base(base, name, keep), expansion.variants(), title)


def _title(plan: Mapping[str, Any]) -> str:
    title = plan.get("title")
    return title if isinstance(title, str) else "Plan"


def _varied(base: Mapping[str, Any], pointer: str) -> dict[str, Any]:
    """A place that varies, and what the base holds there."""
    planned = {"planned": resolve(base, pointer)} if stands(base, pointer) else {}
    return {"pointer": pointer, **planned}
