"""Finds calculators by entry point; what breaks the contract is refused by name, with the reason.

Built-in calculators come through the same door as anybody's.
"""

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib.metadata import EntryPoint, entry_points

from marshmallow import Schema

from .contract import Calculator, Document, InputSchema, ResultSchema
from .problems import NotFound
from .schemas import json_schema

GROUP = "baywright.calculators"
BUILT_IN = "baywright"

_KEBAB = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_SEMVER = re.compile(r"(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)(-[0-9A-Za-z.-]+)?")


@dataclass(frozen=True)
class Refused:
    """A plug-in that was found and not taken: what it is called, whose it is, and why not."""

    name: str
    distribution: str
    reason: str


@dataclass(frozen=True, eq=False)
class Registry:
    """The calculators of one service, by name, and those refused; equal only to itself."""

    calculators: Mapping[str, Calculator]
    refused: Sequence[Refused] = ()

    def find(self, name: str) -> Calculator:
        """The calculator called `name`. Raises NotFound."""
        if name in self.calculators:
            return self.calculators[name]
        raise NotFound(f"There is no calculator “{name}”.{self.hint(name)}")

    def hint(self, name: str) -> str:
        """The nearest known name as a sentence, or nothing."""
        close = difflib.get_close_matches(name[:64], list(self.calculators), n=1, cutoff=0.5)
        return f" Did you mean {close[0]}?" if close else ""

    @cached_property
    def document_schemas(self) -> Mapping[str, tuple[type[Schema], ...]]:
        """For each kind of stored document, the schemas that calculators read it with."""
        found: dict[str, dict[type[Schema], None]] = {}
        for calculator in self.calculators.values():
            for _, field in document_fields(calculator.inputs_schema()):
                found.setdefault(field.kind, {})[type(field.schema)] = None
                for _, inner in document_fields(field.schema):
                    found.setdefault(inner.kind, {})[type(inner.schema)] = None
        return {kind: tuple(schemas) for kind, schemas in found.items()}


def document_fields(schema: Schema) -> Iterator[tuple[str, Document]]:
    """The fields of `schema` that hold a stored document: (name, field)."""
    for name, field in schema.fields.items():
        if isinstance(field, Document):
            yield name, field


def installed(*, built_in_only: bool = False) -> Registry:
    """What the installed distributions offer; `built_in_only` leaves out strangers."""
    points = sorted(entry_points(group=GROUP), key=lambda point: (point.name, _owner(point)))
    if built_in_only:
        points = [point for point in points if _owner(point) == BUILT_IN]
    calculators: dict[str, Calculator] = {}
    refused: list[Refused] = []
    # A built-in keeps its name when a stranger claims the same.
    for point in sorted(points, key=lambda point: _owner(point) != BUILT_IN):
        try:
            calculators[point.name] = _accepted(point, calculators)
        except BreaksContract as error:
            refused.append(Refused(point.name, _owner(point), str(error)))
    return Registry(dict(sorted(calculators.items())), tuple(refused))


def registry_of(*kinds: type[Calculator]) -> Registry:
    """A registry of these classes alone. Raises BreaksContract."""
    for kind in kinds:
        check(kind, kind.name)
    return Registry({kind.name: kind() for kind in sorted(kinds, key=lambda kind: kind.name)})


class BreaksContract(Exception):
    """What was expected of a calculator, and what was found."""


def _owner(point: EntryPoint) -> str:
    return point.dist.name if point.dist else ""


def _accepted(point: EntryPoint, known: Mapping[str, Calculator]) -> Calculator:
    if point.name in known:
        raise BreaksContract(f"Another calculator is called {point.name} already.")
    try:
        kind = point.load()
    except Exception as error:
        raise BreaksContract(f"It cannot be imported: {_words(error)}.") from error
    # Writing the schemas takes longer than all else at the start; for our own, tests do it.
    check(kind, point.name, schemas=_owner(point) != BUILT_IN)
    try:
        calculator: Calculator = kind()
    except Exception as error:
        raise BreaksContract(f"It cannot be made without arguments: {_words(error)}.") from error
    return calculator


def _words(error: Exception) -> str:
    """What an error says, without the path of a file that Python may put in brackets."""
    return re.sub(r" \(([A-Za-z]:)?[/\\][^)]*\)", "", str(error)) or "an error without words"


def check(kind: object, name: str, *, schemas: bool = True) -> None:
    """Hold `kind` to the contract of a calculator, with its `schemas`. Raises BreaksContract."""
    if not (isinstance(kind, type) and issubclass(kind, Calculator)):
        raise BreaksContract("Expected a subclass of Calculator.")
    for fault in _faults(kind, name):
        raise BreaksContract(fault)
    if schemas:
        _check_schemas(kind)


def _faults(kind: type[Calculator], name: str) -> Iterator[str]:
    missing = [
        member
        for member in (
            *("name", "version", "title", "summary", "inputs_schema", "result_schema"),
            *("examples", "sources", "cautions"),
        )
        if not getattr(kind, member, None)
    ]
    if missing:
        yield f"Expected {', '.join(missing)}; found nothing there."
    if kind.name != name or not _KEBAB.fullmatch(name):
        yield f"Expected a kebab-case name equal to the entry point's {name}; found {kind.name}."
    if not _SEMVER.fullmatch(kind.version):
        yield f"Expected a semantic version such as 1.0.0; found {kind.version}."
    if getattr(kind, "__abstractmethods__", None):
        yield f"Expected the methods {', '.join(sorted(kind.__abstractmethods__))}; found none."
    if not _is_schema(kind.inputs_schema, InputSchema):
        yield "Expected inputs_schema to be a subclass of InputSchema."
    if not _is_schema(kind.result_schema, ResultSchema):
        yield "Expected result_schema to be a subclass of ResultSchema."
    if kind.views and kind.draw is Calculator.draw:
        yield "Expected a draw method, since views are named; found none."
    if kind.tabular and kind.table is Calculator.table:
        yield "Expected a table method, since it is tabular; found none."
    if kind.spatial and kind.scene is Calculator.scene:
        yield "Expected a scene method, since it is spatial; found none."


def _check_schemas(kind: type[Calculator]) -> None:
    try:
        json_schema(kind.inputs_schema)
        json_schema(kind.result_schema)
    except Exception as error:
        detail = f"Expected schemas that can be written as JSON Schema; found: {_words(error)}."
        raise BreaksContract(detail) from error


def _is_schema(kind: object, base: type[Schema]) -> bool:
    return isinstance(kind, type) and issubclass(kind, base)
