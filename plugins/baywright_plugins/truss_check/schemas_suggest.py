"""What truss-check takes and gives about diagonals to add, to turn and to leave out."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Column,
    Fault,
    Flag,
    InputSchema,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)


class SuggestSchema(InputSchema):
    """Look for the cheapest diagonals that mend a section, or for those that it can spare."""

    mend = Flag(load_default=True, title="Where a case falls short: diagonals to add")
    turn = Flag(
        load_default=False,
        title="Where a case falls short: first turn diagonals the other way",
    )
    leave_out = Flag(load_default=False, title="Where every case holds: diagonals to spare")
    cost = Choice("count", "mass", "price", load_default="count", title="What is to be least")
    cases = Names(
        fewest=1, most=200, title="Load cases that must reach their factor",
        about="Left out: every case but drops and leaning.",
    )  # fmt: skip
    most_left_out = Whole(minimum=1, maximum=100_000, title="Leave out no more than this many")

    @validates_schema
    def _something(self, data: dict[str, Any], **kwargs: Any) -> None:
        if not (data["mend"] or data["turn"] or data["leave_out"]):
            fault = Fault("missing", "Ask for mend, turn or leave_out.")
            raise ValidationError({"mend": [fault]})


def _pairs(title: str) -> ListOf:
    place = Column("1", whole=True, title="Grid place [i, j, k]")
    return ListOf(ListOf(place), title=title)


class MendResultSchema(ResultSchema):
    """Diagonals to add or turn; absent members were not found."""

    diagonals = _pairs("Diagonals to add, as grid places")
    turned_from = _pairs("Diagonals to take out and turn")
    turned_to = _pairs("Where those go")
    rods_count = Whole(title="Rods added to this section")
    cost = Num("1", title="What the search makes least: rods, g or price")
    cost_at_least = Num("1", title="No set of second diagonals costs less and does")
    cost_gap = Num("1", title="By how much a cheaper set could be cheaper at most")
    exact = Flag(title="No set of whole mirror groups costs less and does")
    first_slip_factor = Num("1", title="Lowest factor over the planned cases then")
    weakest_case = Text(title="Case of that factor")
    short_count = Whole(title="Rods missing on the shelf for this and its twins")
    proven = Flag(title="A run of the changed inputs reached every factor")
    reason = Text(title="Why there is no suggestion")


class LeaveOutResultSchema(ResultSchema):
    """Diagonals that can go, all together."""

    diagonals = _pairs("Diagonals to leave out, as grid places")
    rods_count = Whole(title="How many")
    mass_g = Num("g", title="Mass they save")
    at_most_count = Whole(title="No more can go without a mechanism, whatever the loads")
    single_left_count = Whole(title="Still there, and each could go alone")
    first_slip_factor = Num("1", title="Lowest factor over the planned cases then")
    proven = Flag(title="A run of the changed inputs reached every factor")
    reason = Text(title="Why there is no suggestion")


class SuggestResultSchema(ResultSchema):
    """What was looked for in one section."""

    mend = Part(MendResultSchema)
    leave_out = Part(LeaveOutResultSchema)
