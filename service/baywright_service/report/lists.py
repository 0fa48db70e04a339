"""Which tables of a plan stand in their chapters, and which in the lists at the end."""

from dataclasses import dataclass

from .model import Chapter, Table, Telling

#: A table of no more rows and columns stays in its chapter.
SHORT_ROWS, SHORT_COLUMNS = 12, 8


@dataclass(frozen=True)
class Listed:
    """A long table, and the chapter it belongs to."""

    chapter: Chapter
    table: Table

    @property
    def title(self) -> str:
        """What the rows are, and of which step."""
        return f"{self.table.title}: {self.chapter.heading}"

    @staticmethod
    def is_short(table: Table) -> bool:
        """Whether it stays in its chapter."""
        return len(table.rows) <= SHORT_ROWS and len(table.columns) <= SHORT_COLUMNS


def lists_of(telling: Telling) -> list[Listed]:
    """The long tables of a plan, in the order of its steps."""
    return [
        Listed(chapter, chapter.table)
        for chapter in telling.chapters
        if chapter.table and not Listed.is_short(chapter.table)
    ]
