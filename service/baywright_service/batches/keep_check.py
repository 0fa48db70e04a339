"""The pointers of `keep`: values of an answer that stay with each item."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..contract import Calculator, Fault
from ..pointers import escape, parts_of
from ..registry import Registry
from ..schemas import Walk, json_schema

PlacedFault = tuple[str, Fault]
_OF_PLAN = ("steps", "verdict")
_OF_STEP = ("result", "verdict", "status")
_OF_RUN = ("result", "verdict")


def faults_of_kept(
    pointers: Sequence[str], base: Any, calculator: Calculator | None, registry: Registry
) -> Iterator[PlacedFault]:
    """Pointers that no answer can have; `base` is a plan, or the inputs of `calculator`."""
    for index, pointer in enumerate(pointers):
        fault = _fault(pointer, base, calculator, registry)
        if fault is None and pointer in pointers[:index]:
            fault = Fault("not-unique", f"{pointer} is kept already.")
        if fault is not None:
            yield f"/keep/{index}", fault


def _fault(
    pointer: str, base: Any, calculator: Calculator | None, registry: Registry
) -> Fault | None:
    if not pointer.startswith("/"):
        return Fault("wrong-format", "Must be a JSON Pointer into the answer: /.../result/...")
    parts = parts_of(pointer)
    if calculator is not None:
        return _beside(parts[0], _OF_RUN) or _in_result(calculator, parts)
    fault = _beside(parts[0], _OF_PLAN)
    if fault or parts[0] != "steps" or len(parts) < 2:
        return fault
    step = _step(base, parts[1])
    if step is None:
        return Fault("unknown-reference", f"No step “{parts[1][:64]}” stands in the plan.")
    name = step.get("calculator")
    known = registry.calculators.get(name) if isinstance(name, str) else None
    if known is None or len(parts) < 3:
        return None
    return _beside(parts[2], _OF_STEP) or _in_result(known, parts[2:])


def _beside(part: str, known: Sequence[str]) -> Fault | None:
    if part in known:
        return None
    detail = f"{' or '.join(known)} can be kept from there; not {part[:64]}."
    return Fault("unknown-reference", detail)


def _step(plan: Any, part: str) -> Mapping[str, Any] | None:
    steps = [step for step in plan.get("steps", ()) if isinstance(step, Mapping)]
    if part.isdecimal() and int(part) < len(steps):
        return steps[int(part)]
    return next((step for step in steps if step.get("id") == part), None)


def _in_result(calculator: Calculator, parts: Sequence[str]) -> Fault | None:
    if parts[0] != "result" or Walk(json_schema(calculator.result_schema)).at(list(parts[1:])):
        return None
    detail = f"The result of {calculator.name} has no {escape(*parts[1:])[:200]}."
    return Fault("unknown-reference", detail)
