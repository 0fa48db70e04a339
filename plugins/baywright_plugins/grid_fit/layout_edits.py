"""Small changes to a layout, as it stands on the wire: a bay taken out, a rod exchanged."""

import copy
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from .passages import AXES
from .sections import rods_along

Spec = dict[str, Any]


@dataclass(frozen=True)
class Edited:
    """A section after an edit, and how many diagonals had to be dropped for it."""

    spec: Spec
    dropped_count: int = 0


def runs_of(rods: Iterable[str]) -> list[dict[str, Any]]:
    """Equal neighbours drawn together.

    >>> runs_of(["R120", "R120", "R85"])
    [{'rod': 'R120', 'count': 2}, {'rod': 'R85', 'count': 1}]
    """
    return [{"rod": rod, "count": len(list(run))} for rod, run in groupby(rods)]


def without_bay(spec: Mapping[str, Any], axis: str, index: int) -> Edited | None:
    """The section with bay `index` along `axis` taken out; what lies beyond moves up.

    Diagonals given one by one move along; those that crossed the bay itself are dropped.
    None where the bay is the only one, or a beam that runs across lies in it.
    """
    rods = rods_along(spec, axis)
    if len(rods) < 2 or not 0 <= index < len(rods):
        return None
    edited = copy.deepcopy(dict(spec))
    edited["rods"] = {**edited["rods"], axis: runs_of(rods[:index] + rods[index + 1 :])}
    if "beams" in edited:
        beams = _beams_without(edited["beams"], axis, index)
        if beams is None:
            return None
        edited["beams"] = beams
    dropped = 0
    k = AXES.index(axis)
    for name in ("second_diagonals", "left_out_diagonals"):
        if name in edited:
            kept = [
                pair
                for pair in (_moved(pair, k, index) for pair in edited[name])
                if _on_a_face(pair)
            ]
            dropped += len(edited[name]) - len(kept)
            edited[name] = kept
    if axis == "z":
        for fitting in edited.get("fittings", ()):
            fitting["levels"] = [x - 1 if x > index else x for x in fitting["levels"]]
    return Edited(edited, dropped)


def with_rod(spec: Mapping[str, Any], axis: str, index: int, rod: str) -> Edited:
    """The section with the rods of bay `index` along `axis` exchanged for `rod`."""
    rods = rods_along(spec, axis)
    rods[index] = rod
    edited = copy.deepcopy(dict(spec))
    edited["rods"] = {**edited["rods"], axis: runs_of(rods)}
    return Edited(edited)


def middle_out(count: int) -> list[int]:
    """Indices of `count` bays from the middle outward: an edit there disturbs fewest faces.

    >>> middle_out(5)
    [2, 3, 1, 4, 0]
    """
    middle = count // 2
    return sorted(range(count), key=lambda k: (abs(k - middle), -k))


def coupled_sections(layout: Mapping[str, Any], start: Iterable[str], axis: str) -> list[str]:
    """Ids that must share an edit along `axis` so that coupled faces still match: `start`, and
    whatever is jointed to them across another axis, on and on. In the order of the layout."""
    reached = set(start)
    joints = [j["between"] for j in layout.get("joints", ()) if j.get("axis", "x") != axis]
    while True:
        grown = reached | {name for pair in joints if reached & set(pair) for name in pair}
        if grown == reached:
            return [s["id"] for s in layout["sections"] if s["id"] in reached]
        reached = grown


def gaps_closed(
    before: Sequence[Mapping[str, Any]], after: Sequence[Spec], axis: str, removed_mm: float
) -> None:
    """Sections whose place is stated and that lay beyond an edited one move up by `removed_mm`."""
    k = AXES.index(axis)
    edited = [
        spec["at_mm"][k]
        for spec, new in zip(before, after, strict=True)
        if "at_mm" in spec and spec["rods"] != new["rods"]
    ]
    for spec, new in zip(before, after, strict=True):
        if "at_mm" in spec:
            moves = len({place for place in edited if place < spec["at_mm"][k]})
            new["at_mm"] = [
                x - moves * removed_mm if axis == k else x for axis, x in enumerate(spec["at_mm"])
            ]


def _beams_without(
    beams: Sequence[Mapping[str, Any]], axis: str, index: int
) -> list[dict[str, Any]] | None:
    k = AXES.index(axis)
    kept = []
    for beam in beams:
        first = int(beam["at"][k])
        length = int(beam["bays"]) if beam["axis"] == axis else 1
        inside = first <= index < first + length
        if inside and (beam["axis"] != axis or length == 1):
            return None
        at = [int(x) for x in beam["at"]]
        at[k] -= first > index
        bays = int(beam["bays"]) - (1 if inside else 0)
        kept.append({**beam, "at": at, "bays": bays})
    return kept


def _moved(pair: Sequence[Sequence[int]], k: int, index: int) -> list[list[int]]:
    return [
        [int(x) - 1 if axis == k and x > index else int(x) for axis, x in enumerate(place)]
        for place in pair
    ]


def _on_a_face(pair: Sequence[Sequence[int]]) -> bool:
    steps = sorted(abs(a - b) for a, b in zip(pair[0], pair[1], strict=True))
    return steps == [0, 1, 1]
