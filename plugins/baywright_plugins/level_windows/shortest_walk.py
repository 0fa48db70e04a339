"""The fewest rows that lead from a level back to above itself."""

import numpy as np

from .difference_constraints import NONE, Grid, Ints, Rows, round_up

#: Operations of the search from all levels at once before it looks from one only.
_SHORTEST_WORK = 800_000_000


def shortest_walk(
    rows: Rows, grid: Grid, start: int, *, share: int = 1
) -> tuple[tuple[int, ...], bool]:
    """A way round with the fewest rows, and whether the search looked from every node."""
    free = ~grid.snapped
    bound = len(rows.member) * grid.count
    inner = np.flatnonzero(free[rows.tail] & free[rows.head])
    found: tuple[int, ...] | None = None
    if inner.size:
        among_free = _walk_from(
            rows.only(np.isin(np.arange(len(rows.member)), inner)),
            grid,
            np.flatnonzero(free),
            bound,
        )
        found = None if among_free is None else tuple(int(inner[k]) for k in among_free)
    layers = bound if found is None else len(found) - 1
    sources = np.flatnonzero(grid.snapped)
    affordable = _SHORTEST_WORK // share // (len(sources) * len(rows.member) + 1)
    on_grid = _walk_from(rows, grid, sources, min(layers, affordable))
    if on_grid is not None:
        return on_grid, True
    if found is not None:
        return found, layers <= affordable
    last = _walk_from(rows, grid, np.array([start]), bound)
    if last is None:
        raise AssertionError("a contradiction has a way round")
    return last, False


def any_walk(rows: Rows, grid: Grid, start: int) -> tuple[int, ...]:
    """Some way round back to above itself: from `start` alone where that is a snapped level."""
    if grid.snapped[start]:
        walk = _walk_from(rows, grid, np.array([start]), len(rows.member) * grid.count)
        if walk is not None:
            return walk
    return shortest_walk(rows, grid, start)[0]


def _walk_from(rows: Rows, grid: Grid, sources: Ints, layers: int) -> tuple[int, ...] | None:
    """The shortest way from one of the sources back to above itself, of at most `layers` rows.

    Layer k holds the highest count each node is forced to by k rows from each source.
    """
    steps = _Steps(rows, grid)
    high = np.full((len(sources), grid.count), NONE)
    own = np.arange(len(sources)), sources
    high[own] = 0
    for layer in range(1, layers + 1):
        after = steps.after(high)
        if (after == high).all():
            return None
        high = after
        if high[own].max() > 0:
            return steps.trace(int(sources[int(np.argmax(high[own] > 0))]), layer)
    return None


class _Steps:
    """One more row at a time, for many sources at once: shape (sources, nodes)."""

    def __init__(self, rows: Rows, grid: Grid) -> None:
        self.order = np.lexsort((np.arange(len(rows.head)), rows.head))
        self.tail, self.counted = rows.tail[self.order], grid.counted(rows)[self.order]
        self.heads, self.starts, sizes = np.unique(
            rows.head[self.order], return_index=True, return_counts=True
        )
        self.of_head = np.repeat(np.arange(len(self.heads)), sizes)
        self.on_grid, self.module_nm = grid.snapped[self.heads], grid.module_nm
        self.nodes = grid.count

    def after(self, high: Ints) -> Ints:
        """The highest counts with at most one row more."""
        forced = np.maximum.reduceat(high[:, self.tail] + self.counted, self.starts, axis=1)
        forced[:, self.on_grid] = round_up(forced[:, self.on_grid], self.module_nm)
        found = high.copy()
        found[:, self.heads] = np.maximum(high[:, self.heads], forced)
        return found

    def trace(self, source: int, layers: int) -> tuple[int, ...]:
        """The rows of the way back to the source in that many layers."""
        high = np.full((1, self.nodes), NONE)
        high[0, source] = 0
        came: list[dict[int, int]] = []
        for _ in range(layers):
            after = self.after(high)
            reach = high[0, self.tail] + self.counted
            best = np.maximum.reduceat(reach, self.starts)
            places = np.where(reach == best[self.of_head], np.arange(len(reach)), len(reach))
            by = np.minimum.reduceat(places, self.starts)
            grew = np.flatnonzero(after[0, self.heads] > high[0, self.heads])
            came.append({int(self.heads[k]): int(by[k]) for k in grew})
            high = after
        walk: list[int] = []
        at = source
        for layer in reversed(came):
            if at in layer:
                walk.append(int(self.order[layer[at]]))
                at = int(self.tail[layer[at]])
        return tuple(reversed(walk))
