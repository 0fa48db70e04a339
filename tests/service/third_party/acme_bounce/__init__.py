"""A calculator from another distribution; it imports the contract and nothing else of the host."""

from baywright_service.contract import (
    Calculator,
    Circle,
    Drawing,
    Example,
    Inputs,
    InputSchema,
    Line,
    Num,
    Result,
    ResultSchema,
    Source,
    TableData,
    Whole,
)


class BounceInputs(InputSchema):
    """A drop."""

    drop_mm = Num("mm", required=True, minimum=1, maximum=5000, title="Height of the drop")
    restitution_ratio = Num("1", load_default=0.7, minimum=0, maximum=1, title="Restitution")
    bounces = Whole(load_default=3, minimum=1, maximum=20, title="Bounces to follow")


class BounceResult(ResultSchema):
    """The heights of the bounces."""

    heights_mm = Num("mm", required=True, title="Height of the last bounce")


class BounceHeight(Calculator):
    """Height after some bounces: drop times the square of the restitution, each time."""

    name = "bounce-height"
    version = "0.3.0"
    title = "How high a ball bounces"
    summary = "How high does a ball come back after some bounces?"
    inputs_schema = BounceInputs
    result_schema = BounceResult
    examples = (Example("From a metre", {"drop_mm": 1000}),)
    sources = (Source("Newton, Principia", "Scholium to the laws of motion (from memory)"),)
    cautions = ("Planning aid, not a safety certificate.",)
    views = {"side": "The ball at its height"}
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        """The height of the last bounce."""
        kept = inputs["restitution_ratio"] ** (2 * inputs["bounces"])
        return Result({"heights_mm": inputs["drop_mm"] * kept})

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        """A ball over the ground."""
        ball = Circle((0.0, result.value["heights_mm"] + 10.0), 10.0)
        return Drawing("Bounce", "A ball over the ground.", [Line(((-50.0, 0), (50.0, 0))), ball])

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """One row."""
        return TableData(("height_mm",), [(result.value["heights_mm"],)])


class BrokenBounce(Calculator):
    """Breaks the contract: it has no version, no schemas and no calculate."""

    name = "bounce-broken"
    title = "Broken"
    summary = "Never offered."
