"""A chain of calculators for one machine: checked whole, then run in the order of its references.

A reference is `{"$ref": "#/steps/<id>/result/..."}`, alone in its object.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import Any
from urllib.parse import unquote

import networkx as nx

from .contract import (
    LEVELS,
    Anything,
    Calculator,
    DocumentUse,
    Fault,
    InputSchema,
    Key,
    ListOf,
    Text,
    escape,
    resolve,
)
from .documents import Fetched, Library
from .envelope import document_json
from .fields import flatten_faults, sorted_faults
from .pointers import PointerToNowhere, parts_of, replaced
from .problems import PlanNotValid, Problem, count_of_faults, errors_from, invalid_input
from .registry import Registry, document_fields
from .schemas import Walk, json_schema, types_of

REFERENCE = "$ref"
SHARED = ("kit", "stock")
WORDS = ("title", "about")
LONGEST_TITLE = 200

Envelope = dict[str, Any]
#: Runs one calculator on a body with documents in place: its envelope as plain JSON, or a Problem.
Run = Callable[[Calculator, Mapping[str, Any], Sequence[DocumentUse]], Envelope]
PlacedFault = tuple[str, Fault]


class StepSchema(InputSchema):
    """One run of one calculator."""

    id = Key(required=True, title="Id of the step, unique in the plan")
    calculator = Key(required=True, title="Name of the calculator")
    title = Text(longest=LONGEST_TITLE, title="What the step is for, for people")
    inputs = Anything(
        objects=True,
        title="Inputs",
        about="As the calculator takes them; any value may be a reference to an earlier result.",
    )


class PlanSchema(InputSchema):
    """A whole machine: steps, and the kit and stock they share."""

    title = Text(longest=LONGEST_TITLE, title="Title")
    about = Text(title="What the plan is for")
    kit = Anything(objects=True, title="Kit for every step that takes one, inline or by id")
    stock = Anything(objects=True, title="Stock for every step that takes one, inline or by id")
    steps = ListOf(StepSchema, required=True, fewest=1, most=100, distinct="id", title="Steps")


@dataclass(frozen=True)
class Reference:
    """Where a reference stands, and which result of which step it means."""

    pointer: str
    step: str
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Step:
    """One step of a checked plan."""

    index: int
    id: str
    calculator: Calculator
    inputs: Mapping[str, Any]
    references: tuple[Reference, ...] = ()

    @property
    def place(self) -> str:
        """The pointer to its inputs in the plan."""
        return f"/steps/{self.index}/inputs"


@dataclass
class Checked:
    """A plan ready to run: its steps in the order to run them."""

    body: Mapping[str, Any]
    steps: list[Step]
    order: list[Step] = field(default_factory=list)


def check(body: Any, registry: Registry, store: Library) -> Checked:
    """The plan, ready to run. Raises PlanNotValid with every fault of it."""
    loaded, faults = flatten_faults(PlanSchema(), body)
    steps: list[Step] = []
    if not any(pointer == "" or pointer.startswith("/steps") for pointer, _ in faults):
        steps = list(_steps(loaded["steps"], registry, faults))
        faults += _bad_targets(steps)
        faults += _cycles(steps)
    if isinstance(body, Mapping):
        faults += _missing_documents(body, steps, store)
    if faults:
        errors = errors_from(sorted_faults(faults))
        raise PlanNotValid(count_of_faults(errors), errors)
    checked = Checked(body, steps)
    by_id = {step.id: step for step in steps}
    checked.order = [
        by_id[id] for id in nx.lexicographical_topological_sort(_graph(steps), _rank(steps))
    ]
    return checked


def _steps(
    loaded: Sequence[Mapping[str, Any]], registry: Registry, faults: list[PlacedFault]
) -> Iterator[Step]:
    for index, step in enumerate(loaded):
        inputs = step.get("inputs", {})
        references = tuple(references_in(inputs, f"/steps/{index}/inputs", faults))
        calculator = registry.calculators.get(step["calculator"])
        if calculator is None:
            detail = f"No calculator of that name.{registry.hint(step['calculator'])}"
            place = f"/steps/{index}/calculator"
            faults.append((place, Fault("unknown-reference", detail)))
        else:
            yield Step(index, step["id"], calculator, inputs, references)


def references_in(value: Any, place: str, faults: list[PlacedFault]) -> Iterator[Reference]:
    """Every reference inside `value`, which stands at `place`; malformed ones go to `faults`."""
    waiting: list[tuple[str, Any]] = [(place, value)]
    while waiting:
        pointer, item = waiting.pop()
        if isinstance(item, Mapping) and REFERENCE in item:
            try:
                yield _reference(item, pointer)
            except ValueError as error:
                faults.append((pointer, Fault("wrong-format", str(error))))
        elif isinstance(item, Mapping):
            waiting += [(pointer + escape(key), inner) for key, inner in item.items()]
        elif isinstance(item, list):
            waiting += [
                (f"{pointer}/{k}", inner)
                for k, inner in enumerate(item)
                if isinstance(inner, (dict, list))
            ]


def _reference(item: Mapping[str, Any], pointer: str) -> Reference:
    if len(item) > 1:
        raise ValueError("$ref must stand alone in its object.")
    target = item[REFERENCE]
    if not isinstance(target, str) or not target.startswith("#/"):
        raise ValueError('$ref must be text such as "#/steps/<id>/result/...".')
    parts = parts_of(unquote(target[1:]))
    if len(parts) < 3 or parts[0] != "steps" or parts[2] != "result":
        raise ValueError('$ref must read "#/steps/<id>/result/...".')
    return Reference(pointer, parts[1], tuple(parts[3:]))


def _bad_targets(steps: Sequence[Step]) -> Iterator[PlacedFault]:
    """References to no step, to nothing in a result, or to another type or unit."""
    by_id = {step.id: step for step in steps}
    for step in steps:
        for reference in step.references:
            source = by_id.get(reference.step)
            if source is None:
                detail = f"No step “{reference.step}” that can run stands in this plan."
                yield reference.pointer, Fault("unknown-reference", detail)
            else:
                yield from _bad_join(step, reference, source)


def _bad_join(step: Step, reference: Reference, source: Step) -> Iterator[PlacedFault]:
    given = Walk(json_schema(source.calculator.result_schema)).at(list(reference.parts))
    if not given:
        detail = f"The result of {source.calculator.name} has no {escape(*reference.parts)}."
        yield reference.pointer, Fault("unknown-reference", detail)
        return
    inside = parts_of(reference.pointer.removeprefix(step.place))
    wanted = Walk(json_schema(step.calculator.inputs_schema)).at(inside)
    if not wanted:
        detail = f"The inputs of {step.calculator.name} have no such field."
        yield reference.pointer, Fault("unknown-field", detail)
        return
    fault = _difference(given, wanted)
    if fault:
        yield reference.pointer, fault


def _difference(
    given: Sequence[Mapping[str, Any]], wanted: Sequence[Mapping[str, Any]]
) -> Fault | None:
    """What keeps a value of one of the shapes `given` from being one of those `wanted`."""
    kinds, takes = _types(given), _types(wanted)
    if kinds and takes and not kinds & takes:
        detail = f"Here stands {_words(takes)}; the reference gives {_words(kinds)}."
        return Fault("wrong-type", detail)
    units, unit_takes = _units(given), _units(wanted)
    if units and unit_takes and not units & unit_takes:
        detail = (
            f"Here stands a value in {_words(unit_takes)}; the reference gives {_words(units)}."
        )
        return Fault("wrong-unit", detail)
    return None


def _types(shapes: Sequence[Mapping[str, Any]]) -> set[str]:
    """The types of all shapes together; none where one of them leaves its type open."""
    each = [types_of(shape) for shape in shapes]
    if not all(each):
        return set()
    return {"number" if kind == "integer" else kind for types in each for kind in types}


def _units(shapes: Sequence[Mapping[str, Any]]) -> set[str]:
    units = {shape.get("x-unit") for shape in shapes}
    return set() if None in units else {str(unit) for unit in units}


def _words(words: set[str]) -> str:
    return " or ".join(sorted(words))


def _graph(steps: Sequence[Step]) -> "nx.DiGraph[str]":
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(step.id for step in steps)
    known = set(graph)
    for step in steps:
        for reference in step.references:
            if reference.step in known:
                graph.add_edge(reference.step, step.id)
    return graph


def _rank(steps: Sequence[Step]) -> Callable[[str], int]:
    """Independent steps run in the order they were written in."""
    rank = {step.id: step.index for step in steps}
    return lambda id: rank[id]


def _cycles(steps: Sequence[Step]) -> Iterator[PlacedFault]:
    graph = _graph(steps)
    rank = _rank(steps)
    by_id = {step.id: step for step in steps}
    for knot in sorted(
        nx.strongly_connected_components(graph), key=lambda ids: min(map(rank, ids))
    ):
        first = min(knot, key=rank)
        if len(knot) == 1 and not graph.has_edge(first, first):
            continue
        ring = [edge[0] for edge in nx.find_cycle(graph.subgraph(knot), first)]
        start = ring.index(min(ring, key=rank))
        ring = [*ring[start:], *ring[:start]]
        closing = by_id[ring[0]]
        place = next(r.pointer for r in closing.references if r.step == ring[-1])
        detail = f"The steps wait for one another: {' -> '.join([*ring, ring[0]])}."
        yield place, Fault("cycle", detail, cycle=ring)


def _missing_documents(
    body: Mapping[str, Any], steps: Sequence[Step], store: Library
) -> Sequence[PlacedFault]:
    """Documents named by id that are not stored; those of the plan and those of each step."""
    fetched = Fetched(store)
    for kind in SHARED:
        if kind in body:
            fetched.named(kind, body[kind], f"/{kind}")
    for step in steps:
        fetched.fill(step.calculator.inputs_schema(), step.inputs, step.place)
    return fetched.faults


def run(checked: Checked, store: Library, run_one: Run) -> dict[str, Any]:
    """Every step in order of dependency. A step that fails takes only its dependants with it."""
    return _answer(checked, outcomes_of(checked, store, run_one))


def outcomes_of(checked: Checked, store: Library, run_one: Run) -> dict[str, dict[str, Any]]:
    """What came of each step, by id: its status with the envelope, the problem, or the steps it
    would have needed."""
    done: dict[str, Envelope] = {}
    outcomes: dict[str, dict[str, Any]] = {}
    for step in checked.order:
        waited_for = sorted({r.step for r in step.references} - set(done))
        if waited_for:
            outcomes[step.id] = {"status": "skipped", "skipped_because": waited_for}
            continue
        try:
            done[step.id] = _run_step(step, checked.body, done, store, run_one)
            outcomes[step.id] = {"status": "done", "envelope": done[step.id]}
        except Problem as problem:
            outcomes[step.id] = {"status": "failed", "problem": _of_step(problem, step)}
    return outcomes


def verdict_of(outcomes: Mapping[str, Mapping[str, Any]]) -> str:
    """The worst verdict among the steps; one that gave none counts as a stop."""
    levels = [
        outcome["envelope"]["verdict"] if "envelope" in outcome else "stop"
        for outcome in outcomes.values()
    ]
    return max(levels, key=LEVELS.index)


def _run_step(
    step: Step,
    plan: Mapping[str, Any],
    done: Mapping[str, Envelope],
    store: Library,
    run_one: Run,
) -> Envelope:
    schema = _documents_of(step.calculator.inputs_schema)
    inputs = dict(_resolved(step, done))
    for name, document in document_fields(schema):
        if document.kind in SHARED and name not in inputs and document.kind in plan:
            inputs[name] = plan[document.kind]
    fetched = Fetched(store)
    body = fetched.fill(schema, inputs)
    if fetched.faults:
        raise invalid_input(errors_from(fetched.faults))
    return run_one(step.calculator, body, fetched.used)


@cache
def _documents_of(kind: type[InputSchema]) -> InputSchema:
    """A schema to read document fields from; making one takes longer than a step that is known."""
    return kind()


def _resolved(step: Step, done: Mapping[str, Envelope]) -> Any:
    """The step's inputs with results in place of the references; the rest is shared."""
    inputs: Any = step.inputs
    for reference in step.references:
        pointer = escape(*reference.parts)
        try:
            value = resolve(done[reference.step]["result"], pointer)
        except PointerToNowhere:
            raise _absent(reference.step, pointer) from None
        inputs = replaced(inputs, reference.pointer.removeprefix(step.place), value)
    return inputs


def _absent(step: str, pointer: str) -> Problem:
    detail = f"Step {step} gave no {pointer} this time."
    return invalid_input([{"pointer": "", "code": "unknown-reference", "detail": detail}])


def _of_step(problem: Problem, step: Step) -> dict[str, Any]:
    """The problem with the step's name, its pointers made pointers into the plan."""
    body = problem.body()
    errors = [
        {**error, "pointer": step.place + error["pointer"]} if "pointer" in error else error
        for error in body.get("errors", ())
    ]
    return {**body, "step": step.id, **({"errors": errors} if errors else {})}


def _answer(checked: Checked, outcomes: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    steps = [
        {"id": step.id, "calculator": step.calculator.name, **outcomes[step.id]}
        for step in checked.steps
    ]
    title = {"title": checked.body["title"]} if "title" in checked.body else {}
    return {
        **title,
        "verdict": verdict_of(outcomes),
        "steps": steps,
        "findings": [
            finding
            for step in checked.steps
            if "envelope" in outcomes[step.id]
            for finding in _findings(step, outcomes[step.id]["envelope"])
        ],
        "documents": _documents(outcomes),
    }


def _findings(step: Step, envelope: Envelope) -> Iterator[dict[str, Any]]:
    for finding in envelope["findings"]:
        at = [_place_of(pointer, step, envelope) for pointer in finding["at"]]
        yield {"step": step.id, **finding, "at": at}


def _place_of(pointer: str, step: Step, envelope: Envelope) -> str:
    """A pointer of a finding seen from the whole: into the plan's inputs, else into the answer."""
    if not _stands(step.inputs, pointer):
        for place in (pointer, f"/result{pointer}"):
            if _stands(envelope, place):
                return f"/steps/{step.index}/envelope{place}"
    return step.place + pointer


def _stands(document: Any, pointer: str) -> bool:
    try:
        resolve(document, pointer)
    except (PointerToNowhere, ValueError):
        return False
    return True


def _documents(outcomes: Mapping[str, Mapping[str, Any]]) -> list[dict[str, Any]]:
    used = {
        (use["kind"], use["id"], use["revision"])
        for outcome in outcomes.values()
        for use in outcome.get("envelope", {}).get("documents", ())
    }
    return [document_json(DocumentUse(*use)) for use in sorted(used)]
