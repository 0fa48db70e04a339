"""The machines there are: numbered without gaps, so that they can be counted, listed and drawn."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

#: Numbers of machines must be exact as JSON numbers.
MOST_MACHINES = 2**53 - 1


class TooManyMachines(ValueError):
    """The space holds more machines than can be numbered exactly."""


@dataclass(frozen=True)
class Block:
    """Machines of one choice of rods (places in the kit, along x, y, z) and one split.

    `depths`: bays along y; `lengths`, `heights`: bays along x and z of each section with sizes of
    its own; then come ways to brace, floor panels and numbers of lifts.
    """

    rods: tuple[int, int, int]
    split: int
    depths: tuple[int, ...]
    lengths: tuple[tuple[int, ...], ...]
    heights: tuple[tuple[int, ...], ...]
    options: tuple[int, int, int]

    @cached_property
    def radices(self) -> tuple[int, ...]:
        """How many choices each digit of a machine's number has."""
        sizes = [len(n) for pair in zip(self.lengths, self.heights, strict=True) for n in pair]
        return (len(self.depths), *sizes, *self.options)

    @cached_property
    def count(self) -> int:
        """Machines of the block: the product of the choices."""
        return math.prod(self.radices)

    def digits(self, local: Ints) -> Ints:
        """Choices of machines by their numbers within the block, shape (n, digits)."""
        return np.column_stack(np.unravel_index(local, self.radices)).astype(np.int64)


@dataclass(frozen=True)
class Looked:
    """Machines of one block: their numbers in the space, and what they are.

    depth (n,), length and height (n, own sections) in bays; bracing, panel, lifts (n,) are places
    among the options.
    """

    block: Block
    number: Ints
    depth: Ints
    length: Ints
    height: Ints
    bracing: Ints
    panel: Ints
    lifts: Ints

    def only(self, keep: NDArray[np.bool_] | Ints) -> "Looked":
        """Those where `keep` is true, or those it names, in its order."""
        return Looked(
            self.block, self.number[keep], self.depth[keep], self.length[keep], self.height[keep],
            self.bracing[keep], self.panel[keep], self.lifts[keep],
        )  # fmt: skip


@dataclass(frozen=True)
class Space:
    """All blocks, in order; block k starts at number `first[k]`."""

    blocks: tuple[Block, ...]

    @cached_property
    def first(self) -> Ints:
        return np.cumsum([0, *(block.count for block in self.blocks)], dtype=np.int64)

    @property
    def count(self) -> int:
        return int(self.first[-1])

    def looked(self, numbers: Ints) -> list[Looked]:
        """Machines by their numbers (sorted, each once), block by block."""
        place = self.block_of(numbers)
        found = []
        for k in np.unique(place).tolist():
            block, mine = self.blocks[k], numbers[place == k]
            digits = block.digits(mine - self.first[k])
            own = len(block.lengths)
            sizes = digits[:, 1 : 1 + 2 * own]
            found.append(
                Looked(
                    block,
                    mine,
                    np.array(block.depths)[digits[:, 0]],
                    _picked(block.lengths, sizes[:, 0::2]),
                    _picked(block.heights, sizes[:, 1::2]),
                    digits[:, -3],
                    digits[:, -2],
                    digits[:, -1],
                )
            )
        return found

    def block_of(self, numbers: Ints) -> Ints:
        """Place of the block of each machine."""
        return np.asarray(np.searchsorted(self.first, numbers, side="right") - 1)

    def drawn(
        self, generator: np.random.Generator, many: int, live: NDArray[np.bool_] | None = None
    ) -> Ints:
        """Machines drawn at random, sorted, each once: half of all machines alike, half of all
        blocks alike, so that blocks of few machines have their turn. `live`: blocks to draw the
        second half from."""
        counts = np.diff(self.first)
        blocks = np.arange(len(counts)) if live is None else np.flatnonzero(live)
        block = generator.choice(blocks, many // 2) if len(blocks) else blocks
        by_block = self.first[block] + generator.integers(0, counts[block])
        alike = generator.integers(0, self.count, many - many // 2)
        return np.unique(np.concatenate([by_block, alike]))

    def neighbours(self, numbers: Ints, generator: np.random.Generator, many: int) -> Ints:
        """`many` machines drawn near those given: one or two choices one step off, or another
        block with every other choice at the same place of its range."""
        drawn = np.empty(many, dtype=np.int64)
        for row, parent in enumerate(generator.choice(numbers, many).tolist()):
            drawn[row] = self._moved(int(parent), generator)
        return np.unique(drawn)

    def _moved(self, number: int, generator: np.random.Generator) -> int:
        place = int(np.searchsorted(self.first, number, side="right")) - 1
        block = self.blocks[place]
        digits = block.digits(np.array([number - self.first[place]]))[0]
        if len(self.blocks) > 1 and generator.random() < 0.2:
            place = int(generator.integers(len(self.blocks)))
            share = digits / np.maximum(np.array(block.radices) - 1, 1)
            digits, block = _at_share(share, self.blocks[place].radices), self.blocks[place]
        radices = np.array(block.radices)
        for digit in generator.integers(len(radices), size=2).tolist():
            step = int(generator.integers(-1, 2))
            digits[digit] = min(max(int(digits[digit]) + step, 0), int(radices[digit]) - 1)
        return int(self.first[place]) + int(np.ravel_multi_index(digits.tolist(), block.radices))


def _at_share(share: NDArray[np.float64], radices: Sequence[int]) -> Ints:
    """Digits of another block at the same share of their ranges; the options stay in place."""
    here = np.resize(share[:-3], len(radices) - 3)
    full = np.concatenate([here, share[-3:]])
    return np.asarray(np.rint(full * (np.array(radices) - 1)), dtype=np.int64)


def space_of(blocks: Sequence[Block]) -> Space:
    """The space of some blocks; those without a machine are left out.

    Raises TooManyMachines: more than 2^53 - 1.
    """
    kept = tuple(block for block in blocks if block.count)
    if sum(block.count for block in kept) > MOST_MACHINES:
        raise TooManyMachines
    return Space(kept)


def bay_counts(pitch_um: int, ends_um: int, least_um: int, most_um: int, most: int) -> range:
    """How many bays of one rod give a size between two limits, ends included.

        least <= n p + e <= most,   1 <= n <= N

    Args:
        pitch_um: p, > 0. ends_um: e, what the hubs reach beyond the outer nodes, both sides.
        most: N.

    Source: derived.

    >>> list(bay_counts(120_000, 34_000, 600_000, 760_000, 40))
    [5, 6]
    """
    first = max(1, -((ends_um - least_um) // pitch_um))
    last = min(most, (most_um - ends_um) // pitch_um)
    return range(first, max(first, last + 1))


def _picked(choices: Sequence[Sequence[int]], digits: Ints) -> Ints:
    columns = [np.array(one, dtype=np.int64)[digits[:, k]] for k, one in enumerate(choices)]
    return np.column_stack(columns)
