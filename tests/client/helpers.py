"""A small calculator of our own, and what the tests of the client speak of."""

import json
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Choice,
    Column,
    Document,
    Drawing,
    Example,
    Finding,
    Inputs,
    InputSchema,
    Key,
    Label,
    Line,
    ListOf,
    Measure,
    Num,
    Part,
    Remedy,
    Result,
    ResultSchema,
    Source,
    TableData,
    Text,
    Whole,
)
from baywright_service.registry import registry_of
from baywright_service.server import listen
from baywright_service.settings import Settings

TOKEN = "a-token-for-tests-a-token-for-tests-0123456789"


class BoardSchema(InputSchema):
    id = Key(required=True)
    pitch_mm = Num("mm", required=True, minimum=1, maximum=5000)


class KitSchema(InputSchema):
    title = Text(load_default="")
    boards = ListOf(BoardSchema, required=True, fewest=1)


class LoadSchema(InputSchema):
    force_n = Num("N", required=True, minimum=0, maximum=1e6, title="Force")


class ShelfInputs(InputSchema):
    kit = Document("kit", KitSchema)
    width_mm = Num("mm", required=True, minimum=1, maximum=5000, title="Clear width")
    carries = Part(LoadSchema, title="What stands on it")
    mass_kg = Num("kg", minimum=0, maximum=1000, load_default=1.0, title="Own mass")
    hold_min = Num("min", minimum=0, maximum=1e6, title="How long")
    turned_deg = Num("deg", minimum=-360, maximum=360, title="Turned by")
    stiffness_n_per_mm2 = Num("N/mm2", minimum=0, maximum=1e6)
    rate_per_min = Num("/min", minimum=0, maximum=1e6)
    boards_count = Whole(minimum=1, maximum=20, load_default=1, title="Boards")
    stations_mm = Column("mm", most=50, title="Stations")
    corners_mm = Column("mm", width=3, most=50, title="Corners")
    finish = Choice("oiled", "raw", load_default="raw", title="Finish")
    note = Text(load_default="")


class ShelfResult(ResultSchema):
    width_mm = Num("mm")
    spare_mm = Num("mm")


class Shelf(Calculator):
    """A shelf board against a width of 1000 mm."""

    name = "shelf"
    version = "1.2.3"
    title = "Does the shelf fit?"
    summary = "Whether a board fits between two posts."
    inputs_schema, result_schema = ShelfInputs, ShelfResult
    examples = (Example("A narrow shelf", {"width_mm": 800.0}),)
    sources = (Source("A folding rule", "page 1"),)
    cautions = ("Mind your fingers.", "Planning aid, not a safety certificate.")
    views = {"front": "Seen from the front <post & board>"}
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        width = inputs["width_mm"]
        if width == 666.0:
            raise CannotCalculate("/width_mm", "Nobody can say.")
        fits = width <= 1000.0
        remedy = None if fits else Remedy("Saw it off.", {"width_mm": 1000.0})
        level, message = ("ok", "The board fits.") if fits else ("stop", "The board is too wide.")
        finding = Finding(
            "board-width", level, message, ("/width_mm",), Measure(width, 1000.0, "mm"), remedy
        )
        assumptions = ["Posts stand plumb."]
        return Result({"width_mm": width, "spare_mm": 1000.0 - width}, [finding], assumptions)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        board = Line(((0.0, 0.0), (inputs["width_mm"], 0.0)))
        return Drawing("Board", "A board.", [board, Label((0.0, 10.0), "board <1>")])

    def table(self, inputs: Inputs, result: Result) -> TableData:
        rows = [[f"board-{k}", inputs["width_mm"]] for k in range(inputs["boards_count"])]
        return TableData(("board", "width_mm"), rows)


@dataclass
class Ran:
    """How a command ended and what it said."""

    status: int
    output: bytes
    errors: str

    @property
    def text(self) -> str:
        return self.output.decode()


Command = Callable[..., Ran]


@dataclass
class StandIn:
    """An HTTP server that answers everything with `status`, `headers` and `content`."""

    url: str = ""
    status: int = 200
    headers: dict[str, str] = field(default_factory=lambda: {"Content-Type": "application/json"})
    content: bytes = b"{}"
    requests: list[tuple[str, str, dict[str, str], bytes]] = field(default_factory=list)
    patience: threading.Event = field(default_factory=threading.Event)
    wait: bool = False

    def problem(self, status: int, **members: Any) -> None:
        """Answer with a problem from now on."""
        self.status, self.content = status, json.dumps({"status": status, **members}).encode()
        self.headers = {"Content-Type": "application/problem+json"}


@contextmanager
def shelf_service() -> Iterator[str]:
    """Where a service with the shelf calculator listens; it asks for TOKEN."""
    settings = Settings(port=0, token=TOKEN, store=":memory:")
    server = listen(settings, registry_of(Shelf))
    server.start()
    try:
        yield server.url
    finally:
        server.close()


def save(name: str, text: str) -> str:
    """Write a file in the current folder; its name."""
    Path(name).write_text(text, encoding="utf-8")
    return name
