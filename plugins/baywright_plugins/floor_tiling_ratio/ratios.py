"""From pitches as given to everything worth knowing about two of them, or about all."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from .common_repeats import Repeat, common_repeats, exact_repeat, nearest_counts
from .common_step import steps_in_words
from .continued_fractions import (
    best_approximations,
    best_ratio,
    convergents,
    error_ppm,
    exact,
    farey_length,
    quotients,
    simplest_between,
    stern_brocot_path,
)
from .layout import Ratio
from .made_of import Pitch, reason, step_count

_SAFE = 2**53 - 1  # the largest whole number that every JSON reader keeps


class NotALength(Exception):
    """The parts of pitch number `pitch` add up to nothing."""

    def __init__(self, pitch: int) -> None:
        super().__init__(pitch)
        self.pitch = pitch


class TooMuchPlay(Exception):
    """Pitch number `pitch` gives by half of itself or more, so that every ratio would hold."""

    def __init__(self, pitch: int) -> None:
        super().__init__(pitch)
        self.pitch = pitch


def read_pitches(given: Sequence[Mapping[str, Any]]) -> tuple[Pitch, ...]:
    """Exact pitches from validated inputs.

    Raises:
        NotALength: parts that add up to 0 or less.
        TooMuchPlay: play of half a pitch or more.
    """
    pitches = []
    for k, item in enumerate(given):
        pitch = _pitch(item)
        if pitch.length_mm <= 0:
            raise NotALength(k)
        if 2 * pitch.play_mm >= pitch.length_mm:
            raise TooMuchPlay(k)
        pitches.append(pitch)
    return tuple(pitches)


def _pitch(item: Mapping[str, Any]) -> Pitch:
    parts = [
        (part["item"], Fraction(part["count"], part["divided_by"]), exact(part["pitch_mm"]))
        for part in item.get("parts", ())
    ]
    counts: dict[str, Fraction] = {}
    for name, count, _ in parts:
        counts[name] = counts.get(name, Fraction(0)) + count
    length = sum((count * one for _, count, one in parts), Fraction(0))
    play = exact(item["tolerance_mm"]) + item["seats_count"] * exact(item["play_per_seat_mm"])
    return Pitch(
        item["id"],
        length if parts else exact(item["pitch_mm"]),
        play,
        counts,
        item.get("nodes_count", step_count(list(counts.items()))),
    )


@dataclass(frozen=True)
class Meeting:
    """`first_count` (maybe with halves) of the first pitch against `second_count` of the second."""

    first: Pitch
    second: Pitch
    first_count: Fraction
    second_count: int

    @property
    def length_mm(self) -> Fraction:
        return self.first_count * self.first.length_mm

    @property
    def misfit_mm(self) -> Fraction:
        """First run less second run."""
        return self.length_mm - self.second_count * self.second.length_mm

    @property
    def play_mm(self) -> Fraction:
        return self.first_count * self.first.play_mm + self.second_count * self.second.play_mm

    @property
    def fits(self) -> bool:
        return abs(self.misfit_mm) <= self.play_mm

    @property
    def share_of_play(self) -> float | None:
        """Misfit over play; 0 for an exact ratio, None where there is a misfit and no play."""
        if not self.misfit_mm:
            return 0.0
        return float(abs(self.misfit_mm) / self.play_mm) if self.play_mm else None

    @property
    def ratio(self) -> Ratio:
        return Ratio(self.first_count, self.second_count)

    def as_result(self) -> dict[str, Any]:
        value = self.first.length_mm / self.second.length_mm
        ratio = self.second_count / self.first_count
        found: dict[str, Any] = {
            "first_count": float(self.first_count),
            "second_count": self.second_count,
            "length_mm": float(self.length_mm),
            "misfit_mm": float(self.misfit_mm),
            "misfit_ppm": error_ppm(ratio, value),
            "play_mm": float(self.play_mm),
            "fits": self.fits,
            "why": reason(self.first, self.first_count, self.second, self.second_count),
        }
        if self.share_of_play is not None:
            found["share_of_play_ratio"] = self.share_of_play
        if sum(quotients(ratio)) <= 200:
            found["path"] = stern_brocot_path(ratio)
        return found


@dataclass(frozen=True)
class PairOfPitches:
    """All about two pitches; `value` is first/second, so ratios read second count/first count."""

    first: Pitch
    second: Pitch
    most: int
    ratios: tuple[Meeting, ...]
    inside: Meeting | None
    nearest: Meeting | None
    beyond: Meeting | None

    @property
    def value(self) -> Fraction:
        return self.first.length_mm / self.second.length_mm

    @property
    def ratio(self) -> Meeting | None:
        return self.ratios[0] if self.ratios else None

    def as_result(self) -> dict[str, Any]:
        steps = convergents(self.value, most_denominator=self.most)
        best = best_approximations(self.value, self.most)
        found: dict[str, Any] = {
            "first": self.first.id,
            "second": self.second.id,
            "exact_ratio": str(self.value),
            "quotients": [q for q in quotients(self.value)[:20] if q <= _SAFE],
            "convergents": [[c.numerator, c.denominator] for c in steps],
            "best_approximations": [[b.numerator, b.denominator] for b in best],
            "searched_count": farey_length(self.most) - 1,
            "ratios": [meeting.as_result() for meeting in self.ratios],
            "steps": steps_in_words(self.first, self.second),
        }
        single = {
            "ratio": self.ratio,
            "ratio_inside": self.inside,
            "nearest": self.nearest,
            "beyond": self.beyond,
        }
        found |= {key: meeting.as_result() for key, meeting in single.items() if meeting}
        return found


def pair_of_pitches(first: Pitch, second: Pitch, *, most: int, listed: int) -> PairOfPitches:
    """Search two pitches up to `most` repeats of the first.

    Raises:
        SearchTooWide: too much play for so many repeats.
    """
    found = common_repeats(
        (first.length_mm, second.length_mm),
        (first.play_mm, second.play_mm),
        most_first=most,
        most_found=listed,
    )
    ratios = tuple(Meeting(first, second, Fraction(r.counts[0]), r.counts[1]) for r in found)
    best = best_ratio(first.length_mm / second.length_mm, most)
    nearest = Meeting(first, second, Fraction(best.denominator), best.numerator) if best else None
    return PairOfPitches(
        first,
        second,
        most,
        ratios,
        _inside(first, second, most, ratios),
        nearest,
        None if ratios else _beyond(first, second),
    )


def _inside(first: Pitch, second: Pitch, most: int, ratios: Sequence[Meeting]) -> Meeting | None:
    """A meeting at a node inside the first pitch, where that comes sooner than a whole one."""
    nodes = first.nodes
    found = common_repeats(
        (first.length_mm / nodes, second.length_mm),
        (first.play_mm / nodes, second.play_mm),
        most_first=int(ratios[0].first_count) * nodes - 1 if ratios else most * nodes,
        most_found=1,
    )
    if nodes == 1 or not found:
        return None
    return Meeting(first, second, Fraction(found[0].counts[0], nodes), found[0].counts[1])


def _beyond(first: Pitch, second: Pitch) -> Meeting:
    low = (first.length_mm - first.play_mm) / (second.length_mm + second.play_mm)
    high = (first.length_mm + first.play_mm) / (second.length_mm - second.play_mm)
    fraction = simplest_between(low, high)
    return Meeting(first, second, Fraction(fraction.denominator), fraction.numerator)


@dataclass(frozen=True)
class AllPitches:
    """Where all pitches meet, complete up to the most repeats of the first."""

    repeats: tuple[Repeat, ...]
    nearest: Repeat
    exact_length_mm: Fraction

    def as_result(self) -> dict[str, Any]:
        found: dict[str, Any] = {
            "repeats": [_repeat(r) for r in self.repeats],
            "nearest": _repeat(self.nearest),
        }
        if self.exact_length_mm <= 10**9:
            found["exact_length_mm"] = float(self.exact_length_mm)
        return found


def all_pitches(pitches: Sequence[Pitch], *, most: int, listed: int) -> AllPitches:
    """Complete search over all pitches at once.

    Raises:
        SearchTooWide: too much play for so many repeats.
    """
    lengths = [pitch.length_mm for pitch in pitches]
    found = common_repeats(
        lengths, [pitch.play_mm for pitch in pitches], most_first=most, most_found=listed
    )
    return AllPitches(found, _nearest(lengths, most), exact_repeat(lengths))


def _nearest(lengths: Sequence[Fraction], most: int) -> Repeat:
    """The division of the first pitch's run that serves the others best, play aside."""
    targets = [lengths[0] / length for length in lengths[1:]]
    least = max(1, min(most, math.ceil(max(lengths[1:]) / (2 * lengths[0]))))
    first = min(range(least, most + 1), key=lambda n: (_relative_spread(targets, n), n))
    counts = (first, *(max(1, step.count) for step in nearest_counts(targets, first)))
    runs = [n * p for n, p in zip(counts, lengths, strict=True)]
    return Repeat(counts, runs[0], max(runs) - min(runs))


def _relative_spread(targets: Sequence[Fraction], first: int) -> float:
    """Longest less shortest run over the first one's length; floats only choose, never answer."""
    runs = [1.0]
    for target in targets:
        wanted = first * float(target)
        runs.append(max(1, math.floor(wanted + 0.5)) / wanted)
    return round(max(runs) - min(runs), 12)


def _repeat(repeat: Repeat) -> dict[str, Any]:
    return {
        "counts": list(repeat.counts),
        "length_mm": float(repeat.length),
        "spread_mm": float(repeat.spread),
    }


def pitch_result(pitch: Pitch) -> dict[str, Any]:
    """One pitch as the result shows it."""
    found: dict[str, Any] = {
        "id": pitch.id,
        "pitch_mm": float(pitch.length_mm),
        "exact_mm": str(pitch.length_mm),
        "play_mm": float(pitch.play_mm),
        "nodes_count": pitch.nodes,
    }
    if pitch.parts:
        found["made_of"] = pitch.recipe
    return found
