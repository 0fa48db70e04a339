"""What a calculator is. This is the only module of the service that plug-ins import.

A call of a calculator ends in exactly one of four ways: a `Result`; `InvalidInputs` (the inputs
break a published rule); `CannotCalculate` (valid, but no honest number exists); or a fault of ours.
"""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, ClassVar

from .drawing import (
    Arrow,
    Circle,
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
    svg_text,
)
from .fields import (
    Anything,
    ByKey,
    Choice,
    Column,
    Document,
    Fault,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Names,
    Num,
    OneOfSchemas,
    Part,
    ResultSchema,
    Text,
    Whole,
    flatten_faults,
    table_of,
)
from .pointers import escape, merge_patch, resolve
from .scene import (
    Scene,
    SceneAttitude,
    SceneGroup,
    SceneMotion,
    ScenePassing,
    ScenePiece,
    SceneState,
)

LEVELS = ("ok", "watch", "stop")


@dataclass(frozen=True)
class Source:
    """Where a formula or value comes from. `clause` may be a page, table or equation number."""

    title: str
    clause: str = ""


@dataclass(frozen=True)
class Measure:
    """A number beside the limit it is held against, in one unit (UCUM code)."""

    value: float
    limit: float | None = None
    unit: str = "1"


@dataclass(frozen=True)
class Remedy:
    """What to do, in one sentence with a verb; `patch` (RFC 7396, on the inputs) only if proven."""

    message: str
    patch: Mapping[str, Any] | None = None


@dataclass(frozen=True)
class Finding:
    """One thing the builder should know. `at` holds JSON Pointers into inputs or result."""

    code: str
    level: str
    message: str
    at: tuple[str, ...] = ()
    measure: Measure | None = None
    remedy: Remedy | None = None


@dataclass(frozen=True)
class Caution:
    """One warning, and where it is written down if anywhere."""

    text: str
    source: Source | None = None


@dataclass(frozen=True)
class Result:
    """`value` follows the result schema; it may hold numpy arrays and must hold no NaN.

    `cautions` are those that these inputs call for, beside the ones every answer carries.
    """

    value: Mapping[str, Any]
    findings: Sequence[Finding] = ()
    assumptions: Sequence[str] = ()
    cautions: Sequence[Caution] = ()

    @property
    def verdict(self) -> str:
        """The worst level among the findings; "ok" where there are none."""
        return max((f.level for f in self.findings), key=LEVELS.index, default="ok")


@dataclass(frozen=True)
class Example:
    """Valid inputs that show one use; a test runs each one."""

    title: str
    inputs: Mapping[str, Any]


@dataclass(frozen=True)
class TableData:
    """Rows for CSV: `columns` are the header (unit suffixes included), each row as long as it."""

    columns: Sequence[str]
    rows: Sequence[Sequence[Any]]


class CannotCalculate(Exception):
    """Valid inputs for which no number can be trusted: the place, and why in one sentence."""

    def __init__(self, pointer: str, reason: str) -> None:
        super().__init__(f"{pointer}: {reason}")
        self.pointer, self.reason = pointer, reason


class InvalidInputs(Exception):
    """Every fault found in one set of inputs: (JSON Pointer, Fault), sorted by place."""

    def __init__(self, faults: Sequence[tuple[str, Fault]]) -> None:
        super().__init__("; ".join(f"{pointer}: {fault}" for pointer, fault in faults))
        self.faults = tuple(faults)


class Inputs(dict[str, Any]):
    """Validated inputs. `raw` is the JSON they came from; `proving` marks the re-run of a patch."""

    raw: Mapping[str, Any]
    proving: bool = False


class Calculator(ABC):
    """One published calculation, and everything a host must know to offer it."""

    #: kebab-case, unique among the loaded calculators.
    name: ClassVar[str]
    #: Its own semantic version: other numbers for the same inputs are a minor step.
    version: ClassVar[str]
    title: ClassVar[str]
    #: One or two sentences: the question it answers.
    summary: ClassVar[str]
    #: Titles, units and bounds of the API document are read from these two.
    inputs_schema: ClassVar[type[InputSchema]]
    result_schema: ClassVar[type[ResultSchema]]
    examples: ClassVar[Sequence[Example]]
    sources: ClassVar[Sequence[Source]]
    #: Every answer carries these.
    cautions: ClassVar[Sequence[str]]
    #: Name of each drawing and what it shows; the first is the default.
    views: ClassVar[Mapping[str, str]] = {}
    #: The views that a report of a whole plan shows; all of them unless it says so.
    report_views: ClassVar[Sequence[str] | None] = None
    #: True where `table` gives rows for CSV.
    tabular: ClassVar[bool] = False
    #: What the rows of `table` are, for people: "Parts list".
    table_title: ClassVar[str] = "Table"
    #: True where `scene` gives what stands in space.
    spatial: ClassVar[bool] = False

    @abstractmethod
    def calculate(self, inputs: Inputs) -> Result:
        """Same inputs, same result, byte for byte."""

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        """The picture named `view`. Computes nothing: every number stands in the result."""
        raise NotImplementedError

    def drawings(self, inputs: Inputs, result: Result) -> Sequence[Drawing]:
        """Every page of all views on paper; more than the views where one of them has sheets."""
        return [self.draw(inputs, result, view) for view in self.views]

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """The result as rows."""
        raise NotImplementedError

    def scene(self, inputs: Inputs, result: Result) -> Scene:
        """What stands in space. It may calculate again what the result leaves out; a scene
        without points says in its words why there is nothing to see."""
        raise NotImplementedError

    def load(self, body: Mapping[str, Any], *, proving: bool = False) -> Inputs:
        """Validate a JSON object (documents already put in place of their ids).

        Raises InvalidInputs with every fault.
        """
        loaded, faults = flatten_faults(self.inputs_schema(), body)
        if faults:
            raise InvalidInputs(faults)
        inputs = Inputs(loaded)
        inputs.raw, inputs.proving = body, proving
        return inputs

    def rerun(self, inputs: Inputs, patch: Mapping[str, Any]) -> Result | None:
        """The result with `patch` merged into the inputs; None where that cannot be calculated.

        This is how a remedy is proven. `proving` is set, so that a calculator looks for no
        remedies of remedies.
        """
        try:
            return self.calculate(self.load(merge_patch(inputs.raw, patch), proving=True))
        except (CannotCalculate, InvalidInputs):
            return None


@dataclass(frozen=True)
class DocumentUse:
    """A stored document that took part in an answer."""

    kind: str
    id: str
    revision: str = field(default="")


__all__ = [
    "LEVELS",
    "Anything",
    "Arrow",
    "ByKey",
    "Calculator",
    "CannotCalculate",
    "Caution",
    "Choice",
    "Circle",
    "Column",
    "Dimension",
    "Document",
    "DocumentUse",
    "Drawing",
    "Example",
    "Fault",
    "Finding",
    "Flag",
    "Ink",
    "InputSchema",
    "Inputs",
    "InvalidInputs",
    "Key",
    "Label",
    "Legend",
    "Line",
    "ListOf",
    "Measure",
    "Names",
    "Num",
    "OneOfSchemas",
    "Part",
    "Polygon",
    "Remedy",
    "Result",
    "ResultSchema",
    "Scene",
    "SceneAttitude",
    "SceneGroup",
    "SceneMotion",
    "ScenePassing",
    "ScenePiece",
    "SceneState",
    "Segments",
    "Shape",
    "Source",
    "TableData",
    "Text",
    "Whole",
    "escape",
    "merge_patch",
    "resolve",
    "svg_text",
    "table_of",
]
