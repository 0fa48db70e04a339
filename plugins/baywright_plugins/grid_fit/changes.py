"""The smallest changes that bring a section through, each proven by calculating again."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..kit import Kit
from .layout_edits import (
    coupled_sections,
    gaps_closed,
    middle_out,
    with_rod,
    without_bay,
)
from .passages import AXES
from .sections import overhangs_mm, rods_along

WORDS = {"x": "width", "y": "depth", "z": "height"}
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
MOST_BAYS_OUT = 3

Outside = Mapping[str, Mapping[str, float]]
Value = Mapping[str, Any]


@dataclass(frozen=True)
class Stuck:
    """What sticks: sections by passage, and the axes that decide there."""

    passage: str
    sections: tuple[str, ...]
    axes: tuple[str, ...]


@dataclass(frozen=True)
class Candidate:
    """A change not yet proven; `patch` is a merge patch on the inputs."""

    kind: str
    message: str
    axis: str
    sections: tuple[str, ...]
    passages: tuple[str, ...]
    patch: Mapping[str, Any]
    notes: tuple[str, ...] = ()
    asks_the_venue: bool = False
    pairs: tuple[tuple[str, str], ...] = ()
    #: parts exchanged for others of the same count, which no difference of counts shows
    exchanged_count: int = 0


@dataclass(frozen=True)
class Change:
    """A candidate with what calculating again has shown."""

    candidate: Candidate
    passes: bool
    proven: bool
    #: (section, passage) that stuck before and pass now, and how many cases stick still
    cleared: tuple[tuple[str, str], ...]
    sticking_count: int
    outside_mm: float
    spare_mm: float
    hubs_saved_count: int
    rods_saved: Mapping[str, int]
    twins_broken_count: int
    joints_mismatched_count: int
    left_without_diagonal: Mapping[str, int]
    mechanisms: Mapping[str, int]
    stale: tuple[str, ...]
    little_spare_mm: float

    @property
    def parts_changed_count(self) -> int:
        counted = abs(self.hubs_saved_count) + sum(abs(n) for n in self.rods_saved.values())
        return counted + self.candidate.exchanged_count

    @property
    def rank(self) -> tuple[Any, ...]:
        """What works before what does not; then braced before bare, twins and coupling kept, what
        clears most, room to spare, the machine before the venue, fewest parts."""
        return (
            not self.passes,
            sum(self.left_without_diagonal.values()) > 0,
            self.twins_broken_count + self.joints_mismatched_count,
            self.sticking_count,
            self.spare_mm < self.little_spare_mm,
            self.candidate.asks_the_venue,
            self.parts_changed_count,
            self.candidate.message,
        )


def candidates(
    raw: Mapping[str, Any],
    stuck: Sequence[Stuck],
    outside: Outside,
    kit: Kit,
    passes: Callable[[Mapping[str, float], str], bool],
) -> list[Candidate]:
    """Changes worth a re-run, for everything that sticks.

    What changes the machine without leaving bays bare comes first, the worst passage first.

    Args:
        raw: the inputs as on the wire, with a `layout`.
        stuck: what sticks, passage by passage.
        outside: outside size of each section by axis.
        passes: whether a given outside size passes a passage (by id).
    """
    found: list[Candidate] = []
    for case in stuck:
        found += _parts_off(raw, case)
        for axis in AXES:
            whole = coupled_sections(raw["layout"], _with_twins(raw, case.sections), axis)
            found += _bays_out(raw, case, axis, whole, outside, passes)
        for axis in case.axes:
            found += _flush(raw, case, axis, kit)
        found += _leaf_off(raw, case)
    for case in stuck:
        for axis in AXES:
            alone = _with_twins(raw, case.sections)
            whole = coupled_sections(raw["layout"], alone, axis)
            found += _exchanged(raw, case, axis, whole, outside, kit, passes)
            if alone != whole:
                found += _bays_out(raw, case, axis, alone, outside, passes)
    return _merged(found)


def proven(
    candidate: Candidate,
    before: Value,
    after: Value | None,
    *,
    mechanisms: Callable[[Value, Iterable[str]], Mapping[str, int]],
    little_spare_mm: float,
) -> Change | None:
    """What a re-run shows of a candidate; None where it could not be calculated."""
    if after is None:
        return None
    rows = {(row["section"], row["passage"]): row for row in after["passages"]}
    mine = [rows[pair] for pair in candidate.pairs]
    ends_well = all(row["passes"] for row in mine)
    was = {(row["section"], row["passage"]) for row in before["passages"] if row["passes"]}
    worsened = any(not row["passes"] for pair, row in rows.items() if pair in was)
    tightest = min(mine, key=lambda row: row["spare_mm"])
    bare = _newly_bare(before, after)
    saved = Counter(_counts(before["parts"]["rods"]))
    saved.subtract(_counts(after["parts"]["rods"]))
    old = {row["id"]: row.get("twin_of") for row in before["sections"]}
    new = {row["id"]: row.get("twin_of") for row in after["sections"]}
    matched = {tuple(row["between"]) for row in before["joints"] if row["matches"]}
    return Change(
        candidate=candidate,
        passes=ends_well and not worsened,
        cleared=tuple(pair for pair, row in rows.items() if row["passes"] and pair not in was),
        sticking_count=sum(not row["passes"] for row in rows.values()),
        proven=True,
        outside_mm=_deciding_size(after, tightest, candidate.axis),
        spare_mm=tightest["spare_mm"],
        hubs_saved_count=before["parts"]["hubs_count"] - after["parts"]["hubs_count"],
        rods_saved={rod: n for rod, n in saved.items() if n},
        twins_broken_count=sum(
            twin is not None and new.get(name) != twin for name, twin in old.items()
        ),
        joints_mismatched_count=sum(
            tuple(row["between"]) in matched and not row["matches"] for row in after["joints"]
        ),
        left_without_diagonal=bare,
        mechanisms=mechanisms(after, bare) if bare else {},
        stale=_stale(candidate, after),
        little_spare_mm=little_spare_mm,
    )


def completed(candidate: Candidate, patch: Mapping[str, Any], exchanged_count: int) -> Candidate:
    """The candidate with the patch as the inputs need it, and the parts it exchanges."""
    return replace(candidate, patch=patch, exchanged_count=exchanged_count)


def joined(words: Sequence[str]) -> str:
    """Words in a row, as a sentence has them.

    >>> joined(["S2", "S3", "S4"])
    'S2, S3 and S4'
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def number_word(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def _with_twins(raw: Mapping[str, Any], names: Sequence[str]) -> list[str]:
    specs = raw["layout"]["sections"]
    stuck = [{a: rods_along(s, a) for a in AXES} for s in specs if s["id"] in names]
    return [
        s["id"] for s in specs if s["id"] in names or {a: rods_along(s, a) for a in AXES} in stuck
    ]


def _bays_out(
    raw: Mapping[str, Any],
    case: Stuck,
    axis: str,
    names: Sequence[str],
    outside: Outside,
    passes: Callable[[Mapping[str, float], str], bool],
) -> list[Candidate]:
    specs = list(raw["layout"]["sections"])
    dropped = 0
    sizes = {name: dict(outside[name]) for name in names}
    for count in range(1, MOST_BAYS_OUT + 1):
        removed = 0.0
        for place, spec in enumerate(specs):
            if spec["id"] not in names:
                continue
            rods = rods_along(spec, axis)
            edited = next(
                (e for e in (without_bay(spec, axis, k) for k in middle_out(len(rods))) if e), None
            )
            if edited is None:
                return []
            removed = _pitch_lost(rods, rods_along(edited.spec, axis), raw)
            sizes[spec["id"]][axis] -= removed
            dropped += edited.dropped_count
            specs[place] = edited.spec
        if all(passes(sizes[name], case.passage) for name in case.sections):
            gaps_closed(raw["layout"]["sections"], specs, axis, count * removed)
            bays = f"{number_word(count)} bay{'' if count == 1 else 's'}"
            notes = (_dropped(dropped),) if dropped else ()
            message = f"Take {bays} out of the {WORDS[axis]} of {_scope(names, raw)}."
            patch = {"layout": {"sections": specs}}
            return [_candidate("bay-out", message, axis, names, case, patch, notes)]
    return []


def _dropped(count: int) -> str:
    what = "1 diagonal" if count == 1 else f"{count} diagonals"
    verb = "is" if count == 1 else "are"
    return f"{what} given one by one crossed the bay and {verb} dropped."


def _exchanged(
    raw: Mapping[str, Any],
    case: Stuck,
    axis: str,
    names: Sequence[str],
    outside: Outside,
    kit: Kit,
    passes: Callable[[Mapping[str, float], str], bool],
) -> list[Candidate]:
    """One rod in the middle of the row exchanged for the longest shorter one that will do."""
    pitch = {rod.id: rod.pitch_mm for rod in kit.rods}
    chosen = [spec for spec in raw["layout"]["sections"] if spec["id"] in names]
    rows = [rods_along(spec, axis) for spec in chosen]
    first = rows[0]
    index = middle_out(len(first))[0]
    if any(len(row) <= index or row[index] != first[index] for row in rows):
        return []
    old = first[index]
    for rod in sorted(pitch, key=lambda r: -pitch[r]):
        saved = pitch[old] - pitch[rod]
        if saved <= 0:
            continue
        smaller = {
            name: {**outside[name], axis: outside[name][axis] - saved} for name in case.sections
        }
        if all(passes(smaller[name], case.passage) for name in case.sections):
            specs = [
                with_rod(spec, axis, index, rod).spec if spec["id"] in names else dict(spec)
                for spec in raw["layout"]["sections"]
            ]
            gaps_closed(raw["layout"]["sections"], specs, axis, saved)
            message = f"Exchange one {old} for {rod} in the {WORDS[axis]} of {_scope(names, raw)}."
            patch = {"layout": {"sections": specs}}
            return [_candidate("rod-exchanged", message, axis, names, case, patch)]
    return []


def _flush(raw: Mapping[str, Any], case: Stuck, axis: str, kit: Kit) -> list[Candidate]:
    now = raw.get("flush_axes", [])
    if axis in now or overhangs_mm(kit, [axis])[axis] >= overhangs_mm(kit, [])[axis]:
        return []
    reach = overhangs_mm(kit, [axis])[axis]
    message = f"Use flush hubs, {reach:g} mm deep, on both outer faces across the {WORDS[axis]}."
    names = [spec["id"] for spec in raw["layout"]["sections"]]
    patch = {"flush_axes": sorted([*now, axis])}
    return [_candidate("flush-hubs", message, axis, names, case, patch)]


def _parts_off(raw: Mapping[str, Any], case: Stuck) -> list[Candidate]:
    found = []
    parts = raw.get("protrusions", [])
    for place, part in enumerate(parts):
        owners = part.get("sections") or [spec["id"] for spec in raw["layout"]["sections"]]
        off = part.get("taken_off", False) or not part.get("removable", True)
        if off or not set(owners) & set(case.sections):
            continue
        rest = [{**p, "taken_off": True} if k == place else p for k, p in enumerate(parts)]
        title = part.get("title", "protruding part")
        message = f"Take the {title} off {joined(owners)} for carrying."
        axis, patch = part["side"][0], {"protrusions": rest}
        found.append(_candidate("part-off", message, axis, owners, case, patch))
    return found


def _leaf_off(raw: Mapping[str, Any], case: Stuck) -> list[Candidate]:
    stops = raw["passages"]
    for place, stop in enumerate(stops):
        if stop["id"] != case.passage or stop.get("leaf_off") or "leaf_off_width_mm" not in stop:
            continue
        rest = [{**s, "leaf_off": True} if k == place else s for k, s in enumerate(stops)]
        title = stop.get("title") or stop["id"]
        message = (
            f"Ask for the door leaf at {title} to be taken off "
            f"({stop['leaf_off_width_mm']:g} mm clear)."
        )
        found = _candidate("leaf-off", message, "", [], case, {"passages": rest}, asks=True)
        return [found]
    return []


def _candidate(
    kind: str,
    message: str,
    axis: str,
    names: Sequence[str],
    case: Stuck,
    patch: Mapping[str, Any],
    notes: tuple[str, ...] = (),
    *,
    asks: bool = False,
) -> Candidate:
    pairs = tuple((name, case.passage) for name in case.sections)
    return Candidate(kind, message, axis, tuple(names), (case.passage,), patch, notes, asks, pairs)


def _merged(found: Sequence[Candidate]) -> list[Candidate]:
    """One candidate for each patch, with all that it was looked for."""
    by_message: dict[str, Candidate] = {}
    for one in found:
        old = by_message.get(one.message)
        if old is None:
            by_message[one.message] = one
        else:
            by_message[one.message] = replace(
                old, passages=(*old.passages, *one.passages), pairs=(*old.pairs, *one.pairs)
            )
    return list(by_message.values())


def _scope(names: Sequence[str], raw: Mapping[str, Any]) -> str:
    total = len(raw["layout"]["sections"])
    if len(names) == total > 1:
        return "both sections" if total == 2 else f"all {number_word(total)} sections"
    return joined(names)


def _pitch_lost(before: Sequence[str], after: Sequence[str], raw: Mapping[str, Any]) -> float:
    pitch = {rod["id"]: float(rod["pitch_mm"]) for rod in raw["kit"]["rods"]}
    return sum(pitch[rod] for rod in before) - sum(pitch[rod] for rod in after)


def _counts(rods: Iterable[Mapping[str, Any]]) -> dict[str, int]:
    return {row["rod"]: row["count"] for row in rods}


def _newly_bare(before: Value, after: Value) -> dict[str, int]:
    """Faces by section that have lost their diagonal: those no rod closes any more, and side
    faces left bare."""
    bare = {}
    for old, new in zip(before["sections"], after["sections"], strict=True):
        more = max(
            new["unbraceable_faces_count"] - old["unbraceable_faces_count"],
            new["bare_side_faces_count"] - old["bare_side_faces_count"],
        )
        if more > 0:
            bare[new["id"]] = more
    return bare


def _deciding_size(after: Value, row: Mapping[str, Any], axis: str) -> float:
    sizes = next(s["outside_mm"] for s in after["sections"] if s["id"] == row["section"])
    return float(sizes[axis] if axis else row["needed_mm"])


def _stale(candidate: Candidate, after: Value) -> tuple[str, ...]:
    if candidate.kind == "leaf-off":
        return ("the arrangement with this venue: it has to be asked for each time",)
    if candidate.kind == "part-off":
        return ("setting-up time: the part goes on again at the venue",)
    if candidate.kind == "flush-hubs":
        return ("stock and hub kinds: outer hubs need a blank side",)
    section = next(s for s in after["sections"] if s["id"] in candidate.sections)
    stale = ["strength of the changed sections", "part count and stock", "mass of each section"]
    if candidate.axis in ("x", "y"):
        floor = f"{section['floor_length_mm']:g} x {section['floor_width_mm']:g} mm"
        stale.append(f"floor ratio and left-over: the floor of {section['id']} is now {floor}")
        stale.append("tip angle: the base is narrower")
    else:
        stale.append("heights: levels of floor, tracks and lifts, and with them chain links")
        stale.append("tip angle: the centre of mass lies lower")
    return tuple(stale)
