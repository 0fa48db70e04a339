"""What a report tells, in words: whoever sets it needs to know nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from ..drawing import Drawing
from .words import Fact

LEVELS = ("stop", "watch", "ok")


@dataclass(frozen=True)
class Point:
    """One finding: its level, what was found, the number beside its limit, what to do."""

    level: str
    message: str
    measure: str = ""
    remedy: str = ""


@dataclass(frozen=True)
class Figure:
    """One picture, and what its view is for."""

    view: str
    about: str
    drawing: Drawing


@dataclass(frozen=True)
class Table:
    """Rows as text; `numeric` says which columns hold numbers only."""

    title: str
    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    numeric: Sequence[bool]
    #: How many rows there are, where not all of them are here.
    rows_total: int = 0


@dataclass(frozen=True)
class Chapter:
    """One step of a plan: the question, the answer and what it stands on."""

    id: str
    heading: str
    question: str
    made_by: str
    verdict: str
    headline: str
    points: Sequence[Point] = ()
    #: Why there is no answer.
    reasons: Sequence[str] = ()
    figures: Sequence[Figure] = ()
    facts: Sequence[Fact] = ()
    table: Table | None = None
    assumptions: Sequence[str] = ()
    cautions: Sequence[str] = ()
    sources: Sequence[str] = ()

    def of_level(self, level: str) -> list[Point]:
        """Its findings of one level."""
        return [point for point in self.points if point.level == level]


@dataclass(frozen=True)
class Telling:
    """One plan; `name` tells it from others in the same report ("planned")."""

    name: str
    title: str
    about: str
    verdict: str
    chapters: Sequence[Chapter]
    #: Those that every answered step gives.
    cautions: Sequence[str] = ()
    #: Stored documents that took part, each with its revision.
    documents: Sequence[str] = ()

    def of_level(self, level: str) -> list[tuple[Chapter, Point]]:
        """The findings of one level, each with its chapter."""
        return [(chapter, point) for chapter in self.chapters for point in chapter.of_level(level)]


@dataclass(frozen=True)
class Report:
    """A story of one plan or several."""

    title: str
    about: str
    tellings: Sequence[Telling]
    language: str = field(default="en")
