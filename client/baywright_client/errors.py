"""Every way a command can end without an answer.

    ClientError       exit status
    + BadFile         2  a file cannot be read, or says something that cannot be sent
    + BadUsage        2  the command line asks for something that is not there
    + Refused         3  the service answered with a problem
    + NoAnswer        4  nobody answered, or the service failed

A verdict of stop is no error: it is an answer, and ends with 1.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

DONE, STOP, USAGE, REFUSED, NO_ANSWER, INTERRUPTED = 0, 1, 2, 3, 4, 130


@dataclass(frozen=True)
class Place:
    """Where something stands in a file; line and column count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class ClientError(Exception):
    """A sentence for the person at the terminal, and what to type or change next."""

    exit_status: ClassVar[int] = USAGE

    def __init__(self, message: str, next_step: str = "") -> None:
        super().__init__(message)
        self.message, self.next_step = message, next_step


class BadUsage(ClientError):
    """The command line names something that does not exist."""


@dataclass(frozen=True)
class Complaint:
    """One thing wrong with a file: where, which field, and what."""

    message: str
    place: Place | None = None
    pointer: str = ""


class BadFile(ClientError):
    """A file that cannot be sent; every complaint found in it."""

    def __init__(self, complaints: Sequence[Complaint], next_step: str = "") -> None:
        super().__init__("; ".join(entry.message for entry in complaints), next_step)
        self.complaints = tuple(complaints)


class Refused(ClientError):
    """The service answered with a problem (RFC 9457); `content` is what it said, byte for byte."""

    exit_status = REFUSED

    def __init__(self, status: int, problem: Mapping[str, Any], content: bytes) -> None:
        super().__init__(str(problem.get("detail") or problem.get("title") or f"status {status}"))
        self.status, self.problem, self.content = status, problem, content
        #: Where a pointer of the problem stands in the file that was sent.
        self.where: Callable[[str], Place | None] = lambda pointer: None


class NoAnswer(ClientError):
    """Nobody answered, the service failed, or what answered is not this service."""

    exit_status = NO_ANSWER

    def __init__(self, message: str, next_step: str = "", content: bytes = b"") -> None:
        super().__init__(message, next_step)
        self.content = content
