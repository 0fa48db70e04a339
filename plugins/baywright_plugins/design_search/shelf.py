"""What one machine takes of each part, against the shelf: pieces, mass, pieces to buy."""

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..kit import Hub, Kit
from ..part_count.hub_choice import choose_hubs
from ..part_count.kit_parts import kit_parts
from ..part_count.shortage import Limits, Way, most_pairs, ways_to_make

Ints = NDArray[np.int64]
Classes = Mapping[tuple[int, ...], int]


@dataclass(frozen=True)
class Account:
    """Parts built in by id; `short` those missing on the shelf, none without a shelf."""

    counts: Mapping[str, int]
    short: Mapping[str, int]
    mass_kg: float
    rods: int
    hubs: int

    @property
    def pieces(self) -> int:
        return sum(self.counts.values())

    @property
    def to_buy(self) -> int:
        return sum(self.short.values())


@dataclass
class Shelf:
    """Counts machines against one shelf, as part-count does; what was worked out is remembered.

    `free` None: no shelf. `substitutes`: two rods in line stand for one that is short.
    """

    kit: Kit
    free: Mapping[str, int] | None
    substitutes: bool
    programmes: int = 0
    _hubs: dict[Hashable, tuple[int, ...]] = field(default_factory=dict)
    _pairs: dict[Hashable, list[int]] = field(default_factory=dict)

    def account(
        self,
        rods: Sequence[int],
        in_sections: Sequence[int],
        classes: Classes,
        extras: Mapping[str, int],
    ) -> Account:
        """Everything one machine takes.

        Args:
            rods: of the frame with its joints, in the order of the kit. in_sections: those of
                sections alone, where pairs in line may stand.
            classes: nodes by the frame hubs that can stand there, as from `Bench.classes`.
            extras: parts beside the frame.

        Source: `part_count`: choice of hubs, pairs in line, shortage.
        """
        parts = kit_parts(self.kit)
        counts = dict.fromkeys((part.id for part in parts), 0)
        for item, count in extras.items():
            counts[item] += count
        for rod, count in zip(self.kit.rods, rods, strict=True):
            counts[rod.id] += int(count)
        for hub, count in zip(self.frame_hubs, self._choice(classes, extras), strict=True):
            counts[hub.id] += count
        if self.substitutes and self.free is not None:
            self._put_in_pairs(counts, self.free, in_sections)
        short = {}
        if self.free is not None:
            over = {item: count - self.free.get(item, 0) for item, count in counts.items()}
            short = {item: count for item, count in over.items() if count > 0}
        mass = math.fsum(round(counts[part.id] * part.mass_g / 1000, 6) for part in parts)
        return Account(
            {item: count for item, count in counts.items() if count},
            short,
            round(mass, 6),
            sum(counts[rod.id] for rod in self.kit.rods),
            sum(classes.values()),
        )

    @property
    def frame_hubs(self) -> list[Hub]:
        return [hub for hub in self.kit.hubs if hub.role == "frame"]

    def least_to_buy(self, rods: Ints, hubs: Ints, extras: Ints) -> Ints:
        """Pieces to buy at the least, before it is known which hub can stand where.

        Args:
            rods (n, rods of the kit), hubs (n,): of frames. extras (n, parts of the kit).

        Source: each kind of rod by itself (rods that pairs may replace left out); all frame hubs
        as one kind.
        """
        if self.free is None:
            return np.zeros(len(rods), dtype=np.int64)
        parts = [part.id for part in kit_parts(self.kit)]
        free = np.array([self.free.get(item, 0) for item in parts], dtype=np.int64)
        needed = extras.copy()
        needed[:, : rods.shape[1]] += rods
        over = np.maximum(needed - free, 0)
        if self.substitutes:
            over[:, : rods.shape[1]] = 0
        names = {hub.id for hub in self.frame_hubs}
        frame = np.array([k for k, item in enumerate(parts) if item in names])
        over[:, frame] = 0
        together = hubs + needed[:, frame].sum(axis=1) - free[frame].sum()
        return np.asarray(over.sum(axis=1) + np.maximum(together, 0))

    def _choice(self, classes: Classes, extras: Mapping[str, int]) -> tuple[int, ...]:
        """How many of each frame hub: as part-count chooses them."""
        fitting = tuple(sorted((fits, count) for fits, count in classes.items() if fits))
        hubs, free = self.frame_hubs, self.free
        left: tuple[int, ...] = ()
        if free is not None:
            left = tuple(max(free.get(hub.id, 0) - extras.get(hub.id, 0), 0) for hub in hubs)
        key = (fitting, left)
        if key not in self._hubs:
            order = sorted(
                range(len(hubs)), key=lambda k: (len(set(hubs[k].ports)), hubs[k].price, k)
            )
            shelf = {k: left[k] for k in order} if left else None
            found = choose_hubs(
                [count for _, count in fitting],
                [fits for fits, _ in fitting],
                [order.index(k) for k in range(len(hubs))],
                shelf,
            )
            placed = np.array(found.placed, dtype=np.int64).reshape(-1, len(hubs))
            self._hubs[key] = tuple(placed.sum(axis=0).tolist())
        return self._hubs[key]

    def _put_in_pairs(
        self, counts: dict[str, int], free: Mapping[str, int], in_sections: Sequence[int]
    ) -> None:
        rods, mid = self.kit.rods, self.kit.middle_hub
        over = {k: counts[rod.id] - free.get(rod.id, 0) for k, rod in enumerate(rods)}
        short = {k: count for k, count in over.items() if count > 0}
        if mid is None or not short:
            return
        ways = self._ways(tuple(short))
        if not ways:
            return
        limits = Limits(
            short,
            [max(free.get(rod.id, 0) - counts[rod.id], 0) for rod in rods],
            max(free.get(mid.id, 0) - counts[mid.id], 0),
            {k: int(in_sections[k]) for k in short},
        )
        pairs = self._most(ways, limits)
        counts[mid.id] += sum(pairs)
        for way, many in zip(ways, pairs, strict=True):
            counts[rods[way.rod].id] -= many
            counts[rods[way.first].id] += many
            counts[rods[way.second].id] += many

    def _ways(self, short: tuple[int, ...]) -> list[Way]:
        mid = self.kit.middle_hub
        assert mid is not None
        return ways_to_make(short, self.kit, mid, turning_stiffness_n_mm_per_rad=None, margin=1.0)

    def _most(self, ways: Sequence[Way], limits: Limits) -> list[int]:
        if len(ways) == 1:
            way = ways[0]
            halves = (limits.free[way.first], limits.free[way.second])
            most = halves[0] // 2 if way.first == way.second else min(halves)
            return [min(most, limits.mid_free, limits.short[way.rod], limits.places[way.rod])]
        key = (
            tuple(limits.short.items()), tuple(limits.free), limits.mid_free,
            tuple(limits.places.items()),
        )  # fmt: skip
        if key not in self._pairs:
            self.programmes += 1
            self._pairs[key] = most_pairs(ways, limits)
        return self._pairs[key]
