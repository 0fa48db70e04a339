"""What a cheap check is: it looks at many machines of one block at once."""

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .machines import Machine, machine_at
from .problem import Problem
from .space import Block, Looked

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Reasons worked out to find the nearest miss of one check, in one block and in all.
MOST_EXCESSES, MOST_EXCESSES_IN_ALL = 40, 400


@dataclass(frozen=True)
class Reason:
    """Why a machine is out: the check, a sentence, the number that fails and its limit.

    `excess` is how far it is out, as a share of the limit or of what is needed.
    """

    check: str
    message: str
    value: float
    limit: float
    unit: str
    excess: float


class Check(ABC):
    """One requirement on machines of a block."""

    id: str
    title: str
    #: Of machines with one kind of reason, the nearest miss is told.
    nearest_first = False

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._excesses = 0

    @property
    def asked(self) -> bool:
        """Whether the inputs ask for it at all."""
        return True

    @abstractmethod
    def fails(self, looked: Looked) -> Bools:
        """Machines that do not meet it, shape (n,)."""

    def fails_block(self, block: Block) -> bool:
        """Whether it is known of a whole block that no machine of it meets this."""
        return False

    @abstractmethod
    def facets(self, looked: Looked) -> Ints:
        """What the reason depends on, shape (n, c): machines alike in it share one sentence."""

    def excess(self, looked: Looked) -> Floats:
        """How far machines that fail are out, shape (n,), infinite where it was not looked at."""
        kinds, first, like = np.unique(
            self.facets(looked), axis=0, return_index=True, return_inverse=True
        )
        found = np.full(len(kinds), np.inf)
        most = min(MOST_EXCESSES, MOST_EXCESSES_IN_ALL - self._excesses)
        for row, place in enumerate(first.tolist()[:most]):
            self._excesses += 1
            found[row] = self.reason(machine_at(self.problem, looked, place)).excess
        return found[like.ravel()]

    @abstractmethod
    def reason(self, machine: Machine) -> Reason:
        """Why one machine that fails does."""


def section_rows(looked: Looked, own: int) -> Ints:
    """Bays along x, y, z of one section in every machine, shape (n, 3)."""
    return np.column_stack([looked.length[:, own], looked.depth, looked.height[:, own]])


def kinds_of(rows: Ints) -> tuple[Ints, Ints]:
    """Rows that differ, and for each row the place of its like among them."""
    kinds, inverse = np.unique(rows, axis=0, return_inverse=True)
    return kinds, inverse.ravel()
