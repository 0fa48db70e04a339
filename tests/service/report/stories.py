"""Reports to set: made of plain data, every kind of part in them."""

from baywright_service.contract import Drawing, Line
from baywright_service.report.model import Chapter, Figure, Point, Report, Table, Telling
from baywright_service.report.words import Fact
from tests.service.writers.papers import DOOR

EVIL = '"><script>alert(1)</script> & </svg>'
LONG = Table(
    "Parts list",
    ["Item", *(f"Number {k}, mm" for k in range(1, 15))],
    [[f"R{row}", *(f"{row * k}.5" for k in range(1, 15))] for row in range(1, 61)],
    [False, *[True] * 14],
    rows_total=75,
)
SHORT = Table("Bags", ["Bag", "Mass, kg"], [["one", "1.5"], ["two", ""]], [False, True], 2)


def chapter(id: str, table: Table | None = None) -> Chapter:
    """A step that was done."""
    return Chapter(
        id,
        f"Does the {id} fit?",
        "Whether it goes through.",
        "doors 1.2.0",
        "stop",
        "Too wide.",
        points=[
            Point("stop", "Too wide.", "754 mm, limit 729 mm", "Take a bay out."),
            Point("watch", f"Close: {EVIL}", "12 mm, limit 15 mm"),
            Point("ok", "The height is fine."),
        ],
        figures=[Figure("front", "Front", DOOR), Figure("top", "From above", Drawing(
            "Above", EVIL, [Line(((0, 0), (3, 1)))]))],
        facts=[Fact("", "Overall width", "754 mm"), Fact("Mass", "Of the frame", "12.5 kg")],
        table=table,
        assumptions=["Posts stand plumb."],
        cautions=["Lift with two."],
        sources=["A handbook, page 3"],
    )  # fmt: skip


def telling(name: str = "", title: str = "Hall machine") -> Telling:
    """A plan of three steps, one of which was not calculated."""
    reasons = ["Not run, since it waits for door."]
    skipped = Chapter("next", "And then?", "What follows.", "next 1.0", "stop", reasons[0],
                      reasons=reasons)  # fmt: skip
    return Telling(
        name,
        title,
        f"About it: {EVIL}",
        "stop",
        [chapter("door", SHORT), chapter("frame", LONG), skipped],
        ["Planning aid, not a safety certificate."],
        ["kit hubs, revision sha256-12"],
    )


def report(*names: str) -> Report:
    """One plan, or several of these names."""
    if not names:
        return Report("Hall machine", "About it.", [telling()])
    return Report("Story", "", [telling(name, f"Machine {name}") for name in names])
