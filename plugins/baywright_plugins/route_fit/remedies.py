"""Simple changes, each proven by a re-run: a part off, hardware off, the leaf off, or all of it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from .published_openings import with_library

Case = tuple[str, str]
Raw = Mapping[str, Any]


@dataclass(frozen=True)
class Change:
    """A merge patch on the inputs, what it clears of what stuck, and how much sticks still."""

    kind: str
    message: str
    patch: Raw
    asks_the_venue: bool
    clears: tuple[Case, ...] = ()
    sticking_count: int = 0


def changes_that_help(
    raw: Raw,
    stuck: set[Case],
    stuck_after: Callable[[Raw], set[Case] | None],
    *,
    most_tries: int = 12,
) -> list[Change]:
    """Changes that clear something of what sticks, the most helpful first.

    Args:
        raw: inputs as on the wire.
        stuck: (section, passage) where something sticks.
        stuck_after: the same with a merge patch applied; None where that cannot be calculated.
        most_tries: how many changes are run.
    """
    found = []
    singles = list(_singles(raw, stuck))
    tried = [change for change, _ in singles]
    if len(singles) > 1:
        tried = [*tried[: most_tries - 1], _all_of(raw, [edits for _, edits in singles])]
    for change in tried:
        after = stuck_after(change.patch)
        if after is None or not stuck - after:
            continue
        clears = tuple(sorted(stuck - after))
        found.append(
            Change(
                change.kind, change.message, change.patch, change.asks_the_venue, clears, len(after)
            )
        )
    return sorted(found, key=lambda c: (c.sticking_count, c.kind == ALL, c.asks_the_venue))


ALL = "all-of-these"

#: path of an object in the inputs, and what to set in it
Edit = tuple[tuple[str | int, ...], Mapping[str, Any]]


def _singles(raw: Raw, stuck: set[Case]) -> Iterator[tuple[Change, list[Edit]]]:
    sections, stops = {case[0] for case in stuck}, {case[1] for case in stuck}
    for k, part in enumerate(raw.get("protrusions", ())):
        mine = sections if "sections" not in part else sections & set(part["sections"])
        if mine and part.get("removable", True) and not part.get("taken_off", False):
            name = part.get("title", "protruding part")
            yield _change(
                raw, "part-off", f"Take off the {name} for carrying.", False,
                [(("protrusions", k), {"taken_off": True})],
            )  # fmt: skip
    for k, passage in enumerate(raw["passages"]):
        if passage["id"] not in stops:
            continue
        title = passage.get("title") or passage["id"]
        for n, part in enumerate(passage.get("hardware", ())):
            if part.get("removable", False) and not part.get("taken_off", False):
                name = part.get("title", "hardware")
                yield _change(
                    raw, "hardware-off", f"Ask for the {name} at {title} to be taken off.", True,
                    [(("passages", k, "hardware", n), {"taken_off": True})],
                )  # fmt: skip
        wider = passage.get("leaf_off_width_mm", 0) > with_library(passage).get("width_mm", 0)
        if wider and not passage.get("leaf_off", False):
            yield _change(
                raw, "leaf-off", f"Ask for the door leaf at {title} to be taken off.", True,
                [(("passages", k), {"leaf_off": True})],
            )  # fmt: skip


def _change(
    raw: Raw, kind: str, message: str, asks_the_venue: bool, edits: Sequence[Edit]
) -> tuple[Change, list[Edit]]:
    return Change(kind, message, _patch(raw, edits), asks_the_venue), list(edits)


def _all_of(raw: Raw, edits: Sequence[Sequence[Edit]]) -> Change:
    every = [edit for some in edits for edit in some]
    venue = any(path[0] == "passages" for path, _ in every)
    message = "Take off every part, leaf and piece of hardware that comes off."
    return Change(ALL, message, _patch(raw, every), venue)


def _patch(raw: Raw, edits: Sequence[Edit]) -> dict[str, Any]:
    """Lists are replaced whole by a merge patch, so the patch brings them along."""
    patch: dict[str, Any] = {}
    for path, values in edits:
        first = str(path[0])
        if first not in patch:
            patch[first] = deepcopy(raw[first])
        target = patch
        for key in path:
            target = target[key]  # type: ignore[index]
        target.update(values)
    return patch
