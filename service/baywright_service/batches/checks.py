"""Whether variants keep to the published rules, at a cost that thousands of them allow.

The base is checked whole, once. Of a variant only what it changes is checked: the one field; the
inputs of the step too where a rule ties fields together, and the whole plan where more than inputs
change (the first of them only, since that takes its time). What only a calculation can find is
found when it runs.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from marshmallow import Schema

from .. import plans
from ..contract import Calculator
from ..documents import Documents, Fetched
from ..fields import ListOf, flatten_faults, table_of
from ..pointers import escape, parts_of, resolve
from ..problems import Error, PlanNotValid, errors_from
from ..registry import Registry
from .differences import stands
from .known_fields import all_known_but
from .lone_fields import LoneField, field_at

#: Values that are checked together with all that stands around them, where a rule ties them to it,
#: and variants whose plan is checked whole. Further ones are checked alone, or not before they run.
MOST_TOGETHER = MOST_WHOLE = 200
#: Places of a plan that take no part in any calculation.
_WORDS = ("title", "about")
#: Any of them may have so many letters.
_SAFE_LENGTH = 200


@dataclass(frozen=True)
class Place:
    """Inputs of one calculator inside a body: where they stand, which documents they share with
    the whole plan, and which of their values are references to results."""

    calculator: Calculator
    pointer: str
    shared: tuple[str, ...] = ()
    references: tuple[str, ...] = ()

    def inside(self, pointer: str) -> str | None:
        """`pointer` seen from these inputs; None where it does not concern them."""
        if pointer == self.pointer or pointer.startswith(self.pointer + "/"):
            return pointer[len(self.pointer) :]
        return pointer if pointer.split("/")[1] in self.shared else None

    def seen_from_outside(self, pointer: str) -> str:
        """The other way round."""
        first = (parts_of(pointer) or [""])[0]
        return pointer if first in self.shared else self.pointer + pointer


class Checker:
    """The faults of variants of `body`: a plan, or the inputs of `calculator`."""

    def __init__(
        self, body: Any, calculator: Calculator | None, registry: Registry, store: Documents
    ) -> None:
        self.body, self.calculator = body, calculator
        self._registry, self._store = registry, store
        self._schemas: dict[str, Schema] = {}
        self._fields: dict[tuple[str, str], LoneField | None] = {}
        self._partial: dict[tuple[str, frozenset[str]], Schema] = {}
        self._together, self._whole = MOST_TOGETHER, MOST_WHOLE

    @cached_property
    def faults(self) -> list[Error]:
        """Every fault of the body itself."""
        return self.whole(self.body)

    @cached_property
    def _places(self) -> list[Place]:
        return self._places_of(self.body)

    @cached_property
    def _faulty(self) -> set[str]:
        """Pointers of the inputs that have faults of their own."""
        return {place.pointer for place in self._places if self._of_place(self.body, place)}

    def whole(self, body: Any) -> list[Error]:
        """Every fault of `body`: of the plan, else of the inputs of its steps."""
        try:
            places = self._places_of(body)
        except PlanNotValid as error:
            return list(error.errors)
        return _once(fault for place in places for fault in self._of_place(body, place))

    def changed(self, body: Any, changes: Mapping[str, Any]) -> list[Error]:
        """The faults of a variant of the base, `body` being the whole of it."""
        structural = self.calculator is None and any(map(touches_structure, changes.items()))
        try:
            places = [] if structural else self._places
        except PlanNotValid:
            structural, places = True, []
        if structural and self._whole > 0:
            self._whole -= 1
            return self.whole(body)
        return _once(fault for place in places for fault in self._of_changes(body, place, changes))

    def of_values(self, pointer: str, values: Sequence[Any]) -> list[tuple[int, Error]] | None:
        """The faults of many values for one place, each with the number of its value; None where
        they cannot be checked without what stands beside them."""
        structural = self.calculator is None and touches_structure((pointer, values))
        if structural or None in values or self.faults:
            return None
        found: dict[tuple[int, str], tuple[int, Error]] = {}
        for place in self._places:
            inside = place.inside(pointer)
            if inside is None:
                continue
            lone = self._field(place, inside)
            if lone is None or lone.used < len(parts_of(inside)):
                return None
            schema = table_of(values=ListOf(lone.field, most=len(values)))()
            for below, fault in flatten_faults(schema, {"values": values})[1]:
                number, _, rest = below.removeprefix("/values/").partition("/")
                [error] = errors_from([(f"{pointer}/{rest}" if rest else pointer, fault)])
                found[int(number), f"{rest} {fault}"] = (int(number), error)
        return list(found.values())

    def ties(self, pointer: str) -> bool:
        """Whether a rule looks at `pointer` together with what stands around it."""
        found = [self._field(p, i) for p in self._places if (i := p.inside(pointer)) is not None]
        return any(lone is not None and lone.tied for lone in found)

    def _of_changes(self, body: Any, place: Place, changes: Mapping[str, Any]) -> Iterator[Error]:
        touching = [(p, i) for p in changes if (i := place.inside(p)) is not None]
        if not touching and place.pointer not in self._faulty:
            return
        lone = [self._field(place, inside) for _, inside in touching]
        tied = any(each is not None and each.tied for each in lone)
        together = tied and self._together > 0
        self._together -= together
        if None in lone or place.pointer in self._faulty:
            yield from self._of_place(body, place)
            return
        if together:
            names = frozenset(parts_of(inside)[0] for _, inside in touching)
            yield from self._of_place(body, place, self._partly_known(place, names))
            return
        for (pointer, inside), each in zip(touching, lone, strict=True):
            if each is not None:
                yield from self._of_field(body, place, pointer, inside, each)

    def _places_of(self, body: Any) -> list[Place]:
        if self.calculator is not None:
            return [Place(self.calculator, "")]
        return [
            Place(
                step.calculator,
                step.place,
                self._shared(body, step),
                tuple(reference.pointer for reference in step.references),
            )
            for step in plans.check(body, self._registry, self._store).steps
        ]

    def _shared(self, body: Any, step: plans.Step) -> tuple[str, ...]:
        taken = self._schema(step.calculator).fields.keys() - step.inputs.keys()
        return tuple(kind for kind in plans.SHARED if kind in body and kind in taken)

    def _schema(self, calculator: Calculator) -> Schema:
        if calculator.name not in self._schemas:
            self._schemas[calculator.name] = calculator.inputs_schema()
        return self._schemas[calculator.name]

    def _partly_known(self, place: Place, names: frozenset[str]) -> Schema:
        """A schema that reads of the inputs at `place` only `names`, and what waits for results;
        the rest is as in the base."""
        key = (place.pointer, names)
        if key not in self._partial:
            loaded, _, faults = self._loaded(self.body, place, self._schema(place.calculator))
            anew = names.union(*(parts_of(pointer)[:1] for pointer, _ in faults))
            self._partial[key] = all_known_but(place.calculator.inputs_schema, loaded, anew)
        return self._partial[key]

    def _of_place(self, body: Any, place: Place, schema: Schema | None = None) -> list[Error]:
        """Every fault of the inputs at `place`, but those of values not known yet."""
        _, missing, faults = self._loaded(body, place, schema or self._schema(place.calculator))
        placed = [(place.seen_from_outside(p), fault) for p, fault in missing or faults]
        return _known(errors_from(placed), body, place)

    def _loaded(
        self, body: Any, place: Place, schema: Schema
    ) -> tuple[Any, list[plans.PlacedFault], list[plans.PlacedFault]]:
        """The inputs at `place` as loaded, the documents that are missing, and all faults."""
        inputs = resolve(body, place.pointer) if stands(body, place.pointer) else {}
        if isinstance(inputs, Mapping):
            inputs = {**inputs, **{kind: body[kind] for kind in place.shared}}
        fetched = Fetched(self._store)
        loaded, faults = flatten_faults(schema, fetched.fill(schema, inputs))
        return loaded, fetched.faults, faults

    def _of_field(
        self, body: Any, place: Place, pointer: str, inside: str, lone: LoneField
    ) -> list[Error]:
        """The faults of the one field at `pointer`."""
        level = pointer.removesuffix(inside) + escape(*parts_of(inside)[: lone.used])
        given = {"value": resolve(body, level)} if stands(body, level) else {}
        faults = flatten_faults(lone.schema, given)[1]
        return _known(
            errors_from([(level + p[len("/value") :], f) for p, f in faults]), body, place
        )

    def _field(self, place: Place, inside: str) -> LoneField | None:
        key = (place.calculator.name, inside)
        if key not in self._fields:
            self._fields[key] = field_at(self._schema(place.calculator), parts_of(inside))
        return self._fields[key]


def _once(faults: Iterable[Error]) -> list[Error]:
    """Faults without repeats: steps that share a kit find the same ones in it."""
    return list({(fault["pointer"], fault["detail"]): fault for fault in faults}.values())


def touches_structure(entry: tuple[str, Any]) -> bool:
    """Whether an override reaches beyond inputs and shared documents, or brings a reference."""
    pointer, value = entry
    parts = parts_of(pointer)
    if not parts or _holds_reference(value):
        return True
    if parts[-1] in _WORDS and (len(parts) == 1 or len(parts) == 3 and parts[0] == "steps"):
        return not (value is None or (isinstance(value, str) and len(value) <= _SAFE_LENGTH))
    if parts[0] == "steps":
        return len(parts) < 4 or parts[2] != "inputs"
    return parts[0] not in plans.SHARED


def _holds_reference(value: Any) -> bool:
    if isinstance(value, Mapping):
        return plans.REFERENCE in value or any(map(_holds_reference, value.values()))
    return isinstance(value, list) and any(map(_holds_reference, value))


def _known(faults: Sequence[Error], body: Any, place: Place) -> list[Error]:
    """Faults without those of values that another step's result will take the place of."""
    waiting = [
        pointer
        for pointer in place.references
        if stands(body, pointer) and _holds_reference(resolve(body, pointer))
    ]
    return [
        fault
        for fault in faults
        if not any(f"{fault['pointer']}/".startswith(f"{each}/") for each in waiting)
    ]
