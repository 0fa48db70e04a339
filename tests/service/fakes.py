"""Tiny calculators, so that the host is tested without any engineering."""

import time
from typing import Any, ClassVar

import numpy as np

from baywright_service.contract import (
    Anything,
    ByKey,
    Calculator,
    CannotCalculate,
    Caution,
    Choice,
    Circle,
    Column,
    Document,
    Drawing,
    Example,
    Fault,
    Finding,
    Flag,
    Inputs,
    InputSchema,
    InvalidInputs,
    Key,
    Line,
    ListOf,
    Measure,
    Names,
    Num,
    OneOfSchemas,
    Part,
    Remedy,
    Result,
    ResultSchema,
    Source,
    TableData,
    Text,
    Whole,
    table_of,
)
from baywright_service.registry import Registry, registry_of


class RodSchema(InputSchema):
    """A rod of a kit."""

    id = Key(required=True)
    pitch_mm = Num("mm", required=True, minimum=1, maximum=2000)


class KitSchema(InputSchema):
    """A kit with rods."""

    title = Text(longest=200)
    rods = ListOf(RodSchema, required=True, fewest=1, most=50, distinct="id")


class CountSchema(InputSchema):
    """Pieces of one item."""

    item = Key(required=True)
    on_hand_count = Whole(required=True, minimum=0, maximum=100_000)


class StockSchema(InputSchema):
    """A shelf."""

    title = Text(longest=200)
    kit = Document("kit", KitSchema)
    counts = ListOf(CountSchema, required=True, most=100)


class SpanInputs(InputSchema):
    """How many bays."""

    kit = Document("kit", KitSchema, required=True, title="Kit")
    rod = Key(required=True, title="Rod of the bay")
    bays = Whole(required=True, minimum=1, maximum=100, title="Bays")
    limit_mm = Num("mm", minimum=1, maximum=10_000, load_default=1000.0, title="Longest span")


class SpanResult(ResultSchema):
    """The span."""

    span_mm = Num("mm", required=True, minimum=0)
    nodes_mm = Column("mm", required=True)
    frame = Part(table_of(length_mm=Num("mm"), names=Names()))


class Span(Calculator):
    """Bays times pitch."""

    name: ClassVar[str] = "span"
    version = "1.0.0"
    title = "Span of bays"
    summary = "How long is a row of bays?"
    inputs_schema: ClassVar[type[InputSchema]] = SpanInputs
    result_schema = SpanResult
    examples = (
        Example(
            "Three bays",
            {"kit": {"rods": [{"id": "R120", "pitch_mm": 120}]}, "rod": "R120", "bays": 3},
        ),
    )
    sources = (Source("Multiplication", "table of 3"),)
    cautions = ("Planning aid.",)
    views = {"side": "From the side", "top": "From above"}
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        """Bays times pitch."""
        pitches = {rod["id"]: rod["pitch_mm"] for rod in inputs["kit"]["rods"]}
        if inputs["rod"] not in pitches:
            fault = Fault("unknown-reference", "No such rod in the kit.")
            raise InvalidInputs([("/rod", fault)])
        pitch = pitches[inputs["rod"]]
        span = pitch * inputs["bays"]
        findings = []
        if span > inputs["limit_mm"]:
            fits = int(inputs["limit_mm"] // pitch)
            if fits < 1:
                raise CannotCalculate("/limit_mm", "Not one bay fits.")
            remedy = None if inputs.proving else Remedy(f"Take {fits} bays.", {"bays": fits})
            findings.append(
                Finding(
                    "too-long",
                    "stop",
                    f"The span is {span:g} mm.",
                    ("/bays",),
                    Measure(span, inputs["limit_mm"], "mm"),
                    remedy,
                )
            )
        nodes = np.arange(inputs["bays"] + 1) * pitch
        frame = {"length_mm": np.float64(span), "names": ("a", "b")}
        value = {"span_mm": span, "nodes_mm": nodes, "frame": frame}
        long = Caution("A long span sags.", Source("Statics", "on beams"))
        cautions = (long, Caution("Planning aid.")) if findings else ()
        return Result(value, findings, ("Seated.",), cautions)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        """A line, or from above a circle too."""
        span = result.value["span_mm"]
        shapes: list[Any] = [Line(((0.0, 0.0), (span, 0.0)))]
        if view == "top":
            shapes.append(Circle((0.0, 0.0), 10.0))
        return Drawing(f"Span of {span:g} mm", "A row of <bays> & hubs.", shapes)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """A row for each node; the first column is what a spreadsheet might take for a formula."""
        rows = [(f"=node{k}", x, True) for k, x in enumerate(result.value["nodes_mm"])]
        return TableData(("node", "x_mm", "seated"), rows)


class WeighInputs(InputSchema):
    """A length to weigh."""

    length_mm = Num("mm", required=True, minimum=1, maximum=100_000)
    mass_per_length_g_per_mm = Num("g/mm", load_default=0.1, minimum=0, maximum=10)
    stock = Document("stock", StockSchema)
    note = Text()


class WeighResult(ResultSchema):
    """A mass."""

    mass_g = Num("g", required=True)
    on_hand_count = Whole()


class Weigh(Calculator):
    """Length times mass of a length."""

    name = "weigh"
    version = "2.1.0"
    title = "Mass of a length"
    summary = "What does it weigh?"
    inputs_schema = WeighInputs
    result_schema = WeighResult
    examples = (Example("A metre", {"length_mm": 1000}),)
    sources = (Source("Scales"),)
    cautions = ("Planning aid.",)

    def calculate(self, inputs: Inputs) -> Result:
        """Length times mass of a length."""
        counts = inputs.get("stock", {}).get("counts", ())
        return Result(
            {
                "mass_g": inputs["length_mm"] * inputs["mass_per_length_g_per_mm"],
                "on_hand_count": sum(count["on_hand_count"] for count in counts),
            }
        )


class BoxSchema(InputSchema):
    """A box."""

    box_mm = Num("mm", required=True, above=0, maximum=10)


class BallSchema(InputSchema):
    """A ball."""

    ball_mm = Num("mm", required=True, above=0, maximum=10)


class EverythingInputs(InputSchema):
    """Every field of the contract."""

    number_n = Num("N", minimum=-5, maximum=5, title="A force", about="Pulls.")
    above_kg = Num("kg", above=0, maximum=5)
    whole = Whole(minimum=0, maximum=1000)
    text = Text(shortest=1, longest=20)
    key = Key()
    choice = Choice("single", "crossed")
    flag = Flag(load_default=False)
    column = Column("mm", minimum=0, maximum=100, most=20)
    rows = Column("mm", width=3, minimum=-100, maximum=100, most=20)
    wholes = Column(whole=True, minimum=0, maximum=9, most=20)
    names = Names(most=5)
    part = Part(table_of(inner_mm=Num("mm", required=True, minimum=0, maximum=1)))
    items = ListOf(CountSchema, most=3, distinct="item")
    values = ListOf(Num("mm", minimum=0, maximum=1), most=3)
    by_key = ByKey(Num("kg", minimum=0, maximum=1), most=3)
    one_of = OneOfSchemas({"box_mm": BoxSchema, "ball_mm": BallSchema})
    anything = Anything(objects=True)


class EverythingResult(ResultSchema):
    """What was given."""

    given_count = Whole(required=True)


class Everything(Calculator):
    """Counts the fields it was given."""

    name = "everything"
    version = "1.0.0"
    title = "Every field"
    summary = "Counts the fields it is given."
    inputs_schema = EverythingInputs
    result_schema = EverythingResult
    examples = (Example("One", {"whole": 1}),)
    sources = (Source("None needed"),)
    cautions = ("Planning aid.",)

    def calculate(self, inputs: Inputs) -> Result:
        """Counts the fields given."""
        return Result({"given_count": len(inputs.raw)})


class FailInputs(InputSchema):
    """How to fail."""

    how = Choice("fault", "nan", "infinite", "overflow", "slow", "refuse", required=True)


class FailResult(ResultSchema):
    """Never."""

    value = Num("1")


class Fail(Calculator):
    """Fails in the way it is told."""

    name = "fail"
    version = "1.0.0"
    title = "Failure"
    summary = "Fails in the way it is told."
    inputs_schema = FailInputs
    result_schema = FailResult
    examples = (Example("Refuse", {"how": "refuse"}),)
    sources = (Source("Experience"),)
    cautions = ("Planning aid.",)

    def calculate(self, inputs: Inputs) -> Result:
        """Fails."""
        if inputs["how"] == "refuse":
            raise CannotCalculate("/how", "It was told so.")
        if inputs["how"] == "slow":
            time.sleep(5.0)
        if inputs["how"] == "fault":
            raise ZeroDivisionError("secret of /home/somebody")
        if inputs["how"] == "overflow":
            return Result({"value": 10**400 / 3})
        values = {"infinite": [1.0, np.inf], "nan": [np.nan, np.inf]}
        return Result({"value": 1, "others": np.array(values[inputs["how"]])})


def fakes() -> Registry:
    """All of them."""
    return registry_of(Span, Weigh, Everything, Fail)
