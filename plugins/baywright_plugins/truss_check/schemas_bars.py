"""Members, places and small shared pieces of truss-check's results on the wire."""

from baywright_service.contract import Choice, Column, ListOf, Num, ResultSchema, Text, Whole


def place() -> Column:
    """A place on a section's grid."""
    return Column(
        "1", whole=True, minimum=0, maximum=400, fewest=3, most=3, title="Grid place [i, j, k]"
    )


class BarSchema(ResultSchema):
    """One member of a section and what it does in a case."""

    member = Whole(title="Number in the frame; absent for an added diagonal")
    role = Text(title="What it is")
    rod = Text(title="Rod")
    between = ListOf(place(), title="Its two grid places")
    nodes = Column("1", whole=True, title="Its two nodes of the frame")
    case = Text(title="Case")
    force_n = Num("N", title="Tension positive")
    utilisation_ratio = Num("1", title="Share of its capacity")
    mode = Choice("tension", "bearing", "buckling", title="How it gives")
