"""floor-tiling-ratio: do floor panels meet the frame, does a ball roll, does the floor bear it?"""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Caution,
    Drawing,
    Finding,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, ball_cautions
from . import drawing, findings, schemas
from .common_repeats import SearchTooWide
from .continued_fractions import exact
from .examples import EXAMPLES
from .falling import drop_report, strength_report
from .laid.answer import add_laid
from .laid.answer import assumptions as laid_assumptions
from .laid.tables import marks
from .layout import Ratio, Row, Span, Wanted, extra_bearers, floor_parts, lay_row
from .made_of import Pitch
from .ratios import (
    NotALength,
    PairOfPitches,
    TooMuchPlay,
    all_pitches,
    pair_of_pitches,
    pitch_result,
    read_pitches,
)
from .remedies import Context, with_remedies
from .rolling import rolling_report


class FloorTilingRatio(Calculator):
    """Ratios of pitches, a whole floor, rolling over its grooves and falling onto it."""

    name = "floor-tiling-ratio"
    version = "1.1.0"
    title = "Floor tiling ratio"
    summary = (
        "After how many bays do floor panels meet the frame again, and why; a whole floor laid "
        "out; whether balls roll out of its grooves and whether it bears what falls on it."
    )
    inputs_schema = schemas.Inputs
    result_schema = schemas.FloorResult
    examples = EXAMPLES
    sources = (
        Source("Khinchin, Continued Fractions (1964), from memory", "sections 5 and 6"),
        Source("Graham, Knuth, Patashnik, Concrete Mathematics, from memory", "section 4.5"),
        Source("OEIS A005728, number of fractions in the Farey sequence"),
        Source("Gere, Goodno, Mechanics of Materials, 7th ed.", "problem 9.10-1"),
        Source("Rolling over grooves and ridges: derived here from energy and angular momentum"),
        Source("Graham, Knuth, Patashnik, Concrete Mathematics", "section 3.4, even distribution"),
        Source("Toussaint, The Euclidean Algorithm Generates Traditional Musical Rhythms, 2005"),
        Source("ITF, Facilities Guide, June 2020", "mesh of fencing for balls of 65 mm"),
        Source("16 CFR 1117.2(b), small-ball gauge: a ball passes a hole of its own size"),
        Source("Ball in an edge gap, a corner and a mesh of cord: derived here from geometry"),
        Source("Panels at five sixths of a short rod: common practice, no source"),
    )
    cautions = (
        "Close every edge of the floor: balls find each gap.",
        "Keep hands and faces away from where balls fall.",
        PLANNING_AID,
    )
    views = {
        "meeting": "Frame bays over floor panels along one line, with the marks where they meet.",
        "plan": "The floor from above: bays, panels, strips, landings.",
        "groove": "A ball in a groove, cut through.",
        "laid": "The floor over all sections and joints, from above.",
        "slope": "The sloping floor from the side, heights drawn larger.",
        "wall": "One repeat of a netting wall, with its spacers.",
    }
    tabular = True
    table_title = "Joints that fit"

    def calculate(self, inputs: Inputs) -> Result:
        pitches = _pitches(inputs)
        panel = _index(inputs, "panel", len(pitches) - 1)
        pairs = _pairs(pitches, inputs)
        value: dict[str, Any] = {
            "pitches": [pitch_result(pitch) for pitch in pitches],
            "pairs": [pair.as_result() for pair in pairs.values()],
        }
        found = _ratio_findings(pairs, panel)
        cautions: tuple[Caution, ...] = ()
        if len(pitches) > 2:
            found += _add_common(value, pitches, inputs)
        if "floor" in inputs:
            found += _add_floor(value, pitches, pairs, inputs)
        if "ball" in inputs:
            found += findings.ball_findings(inputs["ball"]["diameter_mm"])
            cautions = ball_cautions(inputs["ball"]["diameter_mm"])
        if "rolling" in inputs:
            found += _add_rolling(value, pitches[panel], inputs)
        if "drop" in inputs:
            found += _add_drop(value, inputs)
        found += add_laid(value, inputs, pitches)
        if not inputs.proving:
            context = Context(inputs, inputs.raw, value, found, pitches, panel)
            found = list(with_remedies(found, context, lambda patch: self.rerun(inputs, patch)))
        return Result(value, tuple(found), _assumptions(inputs), cautions)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return drawing.VIEWS[view](result.value, inputs)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """Marks of a floor laid over sections; else every ratio that fits, pair by pair, and the
        nearest where none does."""
        if "laid" in result.value:
            return marks(result.value["laid"])
        columns = (
            "first",
            "second",
            "first_count",
            "second_count",
            "length_mm",
            "misfit_mm",
            "play_mm",
            "share_of_play_ratio",
            "fits",
        )
        rows = [
            [pair["first"], pair["second"], *(ratio.get(column) for column in columns[2:])]
            for pair in result.value["pairs"]
            for ratio in [
                *([pair["ratio_inside"]] if "ratio_inside" in pair else []),
                *(pair["ratios"] or [pair["nearest"]] if "nearest" in pair else pair["ratios"]),
            ]
        ]
        return TableData(columns, rows)


Pairs = Mapping[tuple[int, int], PairOfPitches]


def _pitches(inputs: Inputs) -> tuple[Pitch, ...]:
    try:
        return read_pitches(inputs["pitches"])
    except NotALength as error:
        reason = "These parts add up to no length."
        raise CannotCalculate(f"/pitches/{error.pitch}/parts", reason) from error
    except TooMuchPlay as error:
        reason = "One pitch gives by half of itself or more, so any ratio would hold."
        raise CannotCalculate(f"/pitches/{error.pitch}", reason) from error


def _pairs(pitches: Sequence[Pitch], inputs: Inputs) -> Pairs:
    most, listed = inputs["most_repeats_count"], inputs["most_ratios_count"]
    pairs = {}
    for i, first in enumerate(pitches):
        for j in range(i + 1, len(pitches)):
            try:
                pairs[i, j] = pair_of_pitches(first, pitches[j], most=most, listed=listed)
            except SearchTooWide as error:
                reason = "So much play for so many repeats: ask for fewer repeats or less play."
                raise CannotCalculate(f"/pitches/{i}", reason) from error
    return pairs


def _index(inputs: Inputs, key: str, otherwise: int) -> int:
    """Which pitch the floor names with `key`."""
    wanted = inputs.get("floor", {}).get(key)
    ids = [pitch["id"] for pitch in inputs["pitches"]]
    return ids.index(wanted) if wanted is not None else otherwise


def _ratio_findings(pairs: Pairs, panel: int) -> list[Finding]:
    found: list[Finding] = []
    for (i, j), pair in pairs.items():
        if panel in (i, j):
            at = (f"/pitches/{i}", f"/pitches/{j}")
            found += findings.ratio_findings(pair, at, panel_first=i == panel)
    return found


def _add_common(value: dict[str, Any], pitches: Sequence[Pitch], inputs: Inputs) -> list[Finding]:
    most = inputs["most_repeats_count"]
    try:
        every = all_pitches(pitches, most=most, listed=inputs["most_ratios_count"])
    except SearchTooWide as error:
        reason = "So much play for so many repeats: ask for fewer repeats or less play."
        raise CannotCalculate("/pitches", reason) from error
    value["common"] = every.as_result()
    return findings.common_findings(every, [pitch.id for pitch in pitches], most)


def _add_floor(
    value: dict[str, Any], pitches: Sequence[Pitch], pairs: Pairs, inputs: Inputs
) -> list[Finding]:
    floor = inputs["floor"]
    panel = _index(inputs, "panel", len(pitches) - 1)
    found: list[Finding] = []
    laid: dict[str, tuple[Wanted, Row]] = {}
    report: dict[str, Any] = {}
    for way in ("along", "across"):
        bay = _index(inputs, f"bay_{way}", 0)
        if bay == panel:
            raise CannotCalculate(f"/floor/bay_{way}", "Frame pitch and panel are the same pitch.")
        wanted, ratio = _wanted(floor, way, pitches[bay], pitches[panel], pairs, (bay, panel))
        if wanted.length > 5000 * wanted.panel:
            raise CannotCalculate(f"/floor/{way}_mm", "More than 5000 panels in one row.")
        if wanted.length > 5000 * wanted.bay:
            raise CannotCalculate(f"/floor/{way}_mm", "More than 5000 bays in one row.")
        row = lay_row(wanted, ratio)
        laid[way] = (wanted, row)
        report[way] = _row(wanted, row, ratio)
        found += findings.row_findings(way, report[way], (pitches[bay].id, pitches[panel].id))
    (wanted_a, row_a), (wanted_b, row_b) = laid["along"], laid["across"]
    parts = floor_parts(row_a, row_b, (wanted_a, wanted_b), pitches[panel].id)
    report["parts"] = [
        {
            "item": part.item,
            "count": part.count,
            "along_mm": float(part.along_mm),
            "across_mm": float(part.across_mm),
            "use": part.use,
        }
        for part in parts
    ]
    needed = sum(part.count for part in parts if part.item == pitches[panel].id)
    report["panels_needed_count"] = needed
    value["floor"] = report
    if "panels_on_hand_count" in floor:
        on_hand = floor["panels_on_hand_count"]
        found += findings.shelf_findings(needed, on_hand, pitches[panel].id)
    return found


def _wanted(
    floor: Mapping[str, Any],
    way: str,
    bay: Pitch,
    panel: Pitch,
    pairs: Pairs,
    index: tuple[int, int],
) -> tuple[Wanted, Ratio | None]:
    pair = pairs[min(index), max(index)]
    ratio = None
    play = bay.play_mm + panel.play_mm
    if pair.ratio:
        play = pair.ratio.play_mm
        counts = int(pair.ratio.first_count), pair.ratio.second_count
        bays, panels = counts if index[0] < index[1] else counts[::-1]
        ratio = Ratio(Fraction(bays), panels)
    if "joint_play_mm" in floor:
        play = exact(floor["joint_play_mm"])
    spans = [
        Span(exact(zone[f"{way}_from_mm"]), exact(zone[f"{way}_to_mm"]))
        for zone in floor["keep_clear"]
    ]
    wanted = Wanted(
        exact(floor[f"{way}_mm"]),
        bay.length_mm,
        panel.length_mm,
        play,
        spans,
        floor["left_over"],
        exact(floor["least_strip_mm"]),
    )
    return wanted, ratio


def _row(wanted: Wanted, row: Row, ratio: Ratio | None) -> dict[str, Any]:
    found: dict[str, Any] = {
        "length_mm": float(wanted.length),
        "bay_mm": float(wanted.bay),
        "bays_count": int(wanted.length // wanted.bay),
        "panel_mm": float(wanted.panel),
        "panels_count": row.panels,
        "left_over_mm": float(row.left_over),
        "action": row.action,
        "gap_per_joint_mm": float(row.gap_per_joint),
        "strips": _stretches(row.strips),
        "adjusters": _stretches(row.adjusters),
        "repeats_count": row.repeats,
        "misfit_accumulated_mm": float(row.accumulated),
        "joint_play_mm": float(wanted.joint_play),
        "joints_mm": [float(x) for x in row.joints],
        "meetings_mm": [float(meeting.at) for meeting in row.meetings],
        "extra_bearers_mm": [] if ratio else [float(x) for x in extra_bearers(wanted, row)],
    }
    if row.repeats_per_adjuster is not None:
        found["repeats_per_adjuster_count"] = min(row.repeats_per_adjuster, 2**53 - 1)
    return found


def _stretches(spans: Sequence[Span]) -> list[dict[str, float]]:
    return [{"start_mm": float(span.start), "end_mm": float(span.end)} for span in spans]


def _add_rolling(value: dict[str, Any], panel: Pitch, inputs: Inputs) -> list[Finding]:
    rolling, ball = inputs["rolling"], inputs["ball"]
    rows = [value["floor"][way] for way in ("along", "across")] if "floor" in value else []
    groove_mm = rolling["groove_mm"] + max((row["gap_per_joint_mm"] for row in rows), default=0.0)
    pitch_mm = rolling.get("groove_pitch_mm", float(panel.length_mm))
    if groove_mm >= ball["diameter_mm"]:
        raise CannotCalculate("/rolling/groove_mm", "The groove is as wide as the ball.")
    if groove_mm >= pitch_mm:
        raise CannotCalculate("/rolling/groove_mm", "The groove is as wide as its pitch.")
    if 2 * rolling["ridge_mm"] >= ball["diameter_mm"]:
        raise CannotCalculate("/rolling/ridge_mm", "The ridge is as high as the ball's centre.")
    value["rolling"] = rolling_report(
        ball,
        rolling,
        groove_mm=groove_mm,
        groove_pitch_mm=pitch_mm,
        gravity_m_s2=inputs["gravity_m_s2"],
    )
    return findings.rolling_findings(value["rolling"], rolling)


def _add_drop(value: dict[str, Any], inputs: Inputs) -> list[Finding]:
    ball, drop, gravity = inputs["ball"], inputs["drop"], inputs["gravity_m_s2"]
    value["drop"] = drop_report(ball, drop, gravity)
    if "panel_truss" in inputs:
        truss = inputs["panel_truss"]
        if 2 * truss["seat_inset_mm"] >= min(truss["bay_mm"], truss["depth_mm"]):
            reason = "Two seats are longer than the rod between them."
            raise CannotCalculate("/panel_truss/seat_inset_mm", reason)
        value["panel_strength"] = strength_report(ball, drop, truss, gravity)
    return findings.drop_findings(value["drop"], drop, value.get("panel_strength"))


def _assumptions(inputs: Inputs) -> list[str]:
    said = ["Play may be used up along the whole repeat; each repeat starts on a fixed node."]
    if "floor" in inputs:
        said.append("Panels are laid from the front edge; strips are cut panel by panel.")
    if "rolling" in inputs:
        said.append(
            "Solid ball, rolling without slip straight across sharp rigid edges; rolling "
            "resistance, bounce and hops over the groove are left out. The steady speed is that "
            "on leaving a groove."
        )
    if "drop" in inputs:
        said.append(
            "Equivalent force by energy: between half of the panel's mass moving with the ball "
            "and none; dents and damping are left out, they lower it."
        )
    if "panel_truss" in inputs:
        said.append(
            "A hit lands on an inner node; on edge one truss, flat one chord takes it alone; the "
            "truss on edge is held upright by others."
        )
        if "seat_moment_n_mm" not in inputs["panel_truss"]:
            said.append(
                "Bending moment of a seat guessed as pull-out times half the rod's diameter: "
                "hang a weight on the end of a rod to measure it."
            )
    return said + laid_assumptions(inputs)


__all__ = ["FloorTilingRatio"]
