"""Truss-check: does the frame hold, standing and carried, and what mends it?

Changes
    1.1.0: travel, partial_factors, suggest, excitation and left_out_diagonals are new; required
    factors may come from partial_factors, 1.65 and 1.25 as before; structures with
    bending_stiffness_n_mm2 give no collapse factor where a member that is limited by buckling is
    at its limit; buckling of rods, beams and frames is answered unasked.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, ClassVar

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Drawing,
    Finding,
    Inputs,
    InputSchema,
    Result,
    ResultSchema,
    Scene,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, section_cautions
from ..frame.two_part_drawing import two_part_hubs_drawing
from ..kit import Kit
from . import findings, joint_findings, travel_findings
from .answer_columns import ASSUMPTIONS as COLUMN_ASSUMPTIONS
from .answer_columns import built_up_answer, column_answer
from .answer_joints import hubs_of
from .answer_suggest import Suggested, suggestions
from .answer_travel import factors_value
from .answer_vibration import (
    Vibration,
    mode_picture,
    shown_mode,
    vibration,
    vibration_findings,
)
from .drawing import Bars, draw
from .examples import EXAMPLES
from .frame_check import (
    SectionAnswer,
    check_sections,
    factors_of,
    handling_of,
    prepare,
    section_value,
)
from .handling import Handling
from .hub_remedies import LOCK_FIRST, lock_hubs
from .joint_answers import JointAnswer, joint_answers, joint_value, structure_joints
from .mode_drawing import draw_mode
from .motions import section_motions, structure_motions
from .picture import frame_picture, structure_picture
from .remedies import brace_mechanisms, brace_slips, join_nodes
from .scene import frame_scene_of, structure_scene_of
from .schemas import TrussCheckInputs, TrussCheckResult
from .structure_check import check_structure, structure_of
from .structure_findings import holds_by_joints, structure_joint_findings
from .tables import column_table, section_table, structure_table

_COMMON = (
    "Hubs are ball joints and members carry along their length only, on the safe side; what "
    "seats that turn stiffly change is answered beside it where joints asks for it.",
    "Displacements are small; play in the seats and creep are left out.",
)
_FRAME = (
    "Each section is checked as a rigid body of its own, held at sprung hubs as its cases say.",
    "Carrying multiplies weight by the dynamic factor; swinging is left out, and so are drops, "
    "thresholds and people who lean, unless asked for under travel.",
    "At collapse a slipping seat keeps its force, or the share seat_after_slip_ratio of it; where "
    "it lets go, or a slender rod buckles, there is no collapse factor.",
    "Buckling factors are elastic, of straight rods between pinned seats unless a strength is "
    "given; beams are laced columns between their corners, after Engesser.",
)


class TrussCheck(Calculator):
    name = "truss-check"
    version = "1.1.0"
    title = "Truss check"
    summary = (
        "Forces in every member, when the first seat slips, when the frame collapses and whether "
        "it folds at all: standing, carried, turned any way, or under stated loads; and which "
        "diagonals would mend it."
    )
    inputs_schema: ClassVar[type[InputSchema]] = TrussCheckInputs
    result_schema: ClassVar[type[ResultSchema]] = TrussCheckResult
    examples = EXAMPLES
    sources = (
        Source("Direct stiffness method, any text on matrix structural analysis"),
        Source(
            "Pellegrino and Calladine, Matrix analysis of statically and kinematically "
            "indeterminate frameworks, Int. J. Solids Structures 22(4), 1986 (from memory)",
            "rank of the equilibrium matrix",
        ),
        Source("Calladine, Int. J. Solids Structures 14, 1978 (from memory)", "Maxwell's rule"),
        Source(
            "Jirasek and Bazant, Inelastic Analysis of Structures, 2002 (from memory)",
            "limit theorems as linear programs",
        ),
        Source(
            "EN 1993-1-1:2005, Eurocode 3",
            "6.3.1.2 crooked columns, 6.4 laced built-up columns after Engesser",
        ),
        Source("Euler 1744", "buckling of a pinned rod; margin 1.5 is common practice, no source"),
        Source(
            "EN 74-1, couplers for tubes (from memory)",
            "slip 10 kN to working load 6.1 kN: the ratio 1.65",
        ),
        Source(
            "Gere and Goodno, Mechanics of Materials, 7th ed.",
            "section 2.8, problem 9.10-1: falls onto springs",
        ),
        Source("EN 1991-1-1:2002 (from memory)", "6.4, Table 6.12: line loads on barriers"),
        Source("EN 1990 (from memory)", "Table A1.2(B): partial factors 1.35 and 1.5"),
        Source("Statics of a wheel at a step; derived here", "push over wheel load"),
        Source("Benders 1962 (from memory)", "cuts, for the bound below every suggestion"),
        Source(
            "Common practice, no source",
            "dynamic factor 1.5, mishap factor 1.25, grips, a leaning adult of 300 to 1000 N, "
            "sources 20 % from natural frequencies",
        ),
    )
    cautions = (
        "Never overhead, never for people: a frame of rods and snap-in hubs gives without notice.",
        "Rigid is not strong: a stiff frame can be close to slipping.",
        "Lift with enough people, at the grips stated, and keep clear of what could fall.",
        "A tall light section tips long before it breaks: rail it off, tie it, or ballast it.",
        "Strength of seats falls with use and time: put in the values of used, not of new parts.",
        PLANNING_AID,
    )
    views: ClassVar[Mapping[str, str]] = {
        "utilisation": "How much of its capacity each member uses in the worst case.",
        "deformed": "How the frame moves in that case, enlarged.",
        "mechanism": "How a frame that folds moves.",
        "collapse": "How the frame gives way in that case, and the members that give.",
        "buckling": "How the whole frame buckles, where that was computed.",
        "modes": "How the standing frame swings at a natural frequency, where that was computed.",
        "two-part-hubs": "Which hubs in two halves are locked, and the way each opens.",
        "worst-orientation": "Each member in the direction of gravity that is worst for it.",
    }
    tabular = True
    table_title = "Weakest member of each case"
    spatial = True

    def calculate(self, inputs: Inputs) -> Result:
        if "column" in inputs or "built_up_column" in inputs:
            return self._column(inputs)
        return self._frame(inputs) if "frame" in inputs else self._structure(inputs)

    @staticmethod
    def _column(inputs: Inputs) -> Result:
        if "column" in inputs:
            value, found = column_answer(inputs["column"])
        else:
            value, found = built_up_answer(inputs["built_up_column"])
        return Result({"column": value}, found, COLUMN_ASSUMPTIONS)

    def _structure(self, inputs: Inputs) -> Result:
        answer = check_structure(structure_of(inputs), inputs)
        remedy = None
        if answer.stability.mechanisms and self._seeks(inputs):
            remedy = join_nodes(answer.stability, inputs, lambda patch: self.rerun(inputs, patch))
        joints = structure_joints(answer, inputs)
        picture = structure_picture(answer, inputs)
        value = {**answer.value, **joints.value, "picture": picture}
        if "case" in picture:
            row = answer.structure.case_ids.index(picture["case"])
            picture |= structure_motions(answer, joints, row)
        if answer.swings is not None and len(answer.swings.value):
            picture |= shown_mode(answer.swings, inputs.get("picture", {}).get("mode", 0))
        assumptions = list(_COMMON)
        if "limit_load" in value and not any(
            {"collapse_factor", "collapse_left_out"} & set(row) for row in value["limit_load"]
        ):
            assumptions.append(
                "Collapse is left out: nothing bounds it, or the structure is large."
            )
        found = [
            *structure_joint_findings(answer, joints, inputs, remedy),
            *([] if holds_by_joints(joints) else findings.structure_findings(answer, remedy)),
        ]
        return Result(value, _by_level(found), assumptions)

    def _frame(self, inputs: Inputs) -> Result:
        kit, handling = Kit.from_inputs(inputs["kit"]), handling_of(inputs)
        analyses = inputs.get("analyses", ("limit-load",))
        answers = check_sections(
            prepare(inputs, kit), inputs, kit, with_limits="limit-load" in analyses
        )
        joints = joint_answers(answers, inputs, kit, proving=inputs.proving)
        shaken, suggested = self._asked_for(inputs, answers, kit, handling)
        full = inputs["detail"] == "full"
        value: dict[str, Any] = {
            "sections": [
                {
                    **section_value(a, kit, handling, full=full),
                    **joint_value(a, j, kit),
                    **asked_value(k, shaken, suggested),
                }
                for k, (a, j) in enumerate(zip(answers, joints, strict=True))
            ],
            "partial_factors": factors_value(factors_of(inputs), handling),
            "picture": frame_picture(answers, inputs, kit, handling),
        }
        factors = [s["first_slip_factor"] for s in value["sections"] if "first_slip_factor" in s]
        used = [s["utilisation_max"] for s in value["sections"] if "utilisation_max" in s]
        if factors:
            value["first_slip_factor"] = min(factors)
        if used:
            value["utilisation_max"] = max(used)
        found = [
            finding
            for place, answer in enumerate(answers)
            if answer.same_as is None
            for finding in self._section_findings(
                inputs, answer, joints[place], kit, handling, place
            )
        ]
        found += joint_findings.seat_findings(inputs)
        found += [finding for one in suggested.values() for finding in one.findings]
        if shaken is not None:
            found += vibration_findings(shaken, inputs, self._prover(inputs))
            if shaken.machine is not None:
                value["machine_vibration"] = shaken.machine.value
        names = [answer.prepared.id for answer in answers]
        shown = names.index(value["picture"]["section"])
        value["picture"] |= section_motions(value["picture"], answers[shown], joints[shown])
        asked = inputs.get("picture", {})
        value["picture"] |= mode_picture(shaken, answers[shown], answers, asked)
        beside = [] if shaken is None else [f"Left out: {reason}." for reason in shaken.left_out]
        assumptions = (*_COMMON, *_FRAME, *_left_out(value), *beside)
        cautions = section_cautions(section["mass_kg"] for section in value["sections"])
        return Result(value, _by_level(found), assumptions, cautions)

    def _section_findings(
        self,
        inputs: Inputs,
        answer: SectionAnswer,
        joints: JointAnswer,
        kit: Kit,
        handling: Handling,
        place: int,
    ) -> list[Finding]:
        pointer = f"/sections/{place}"
        seeks = self._seeks(inputs)

        rerun = self._prover(inputs)
        if answer.held.mechanisms:
            remedy = brace_mechanisms(answer, inputs, rerun) if seeks else None
            if joints.stiffened is not None and joints.stiffened.holds_by == "hub-stiffness":
                return joint_findings.stiffness_findings(answer, joints, kit, pointer, remedy)
            return [
                findings.mechanism_finding(answer, pointer, remedy),
                *joint_findings.stiffness_findings(answer, joints, kit, pointer, None),
            ]
        lock = None
        if seeks and joints.hubs is not None and not joints.hubs.state.held.all():
            lock = lock_hubs(answer, joints, inputs, kit, rerun)
        mends = seeks and not inputs.get("suggest", {}).get("mend")
        remedy = LOCK_FIRST if lock is not None else None
        if mends and lock is None:
            remedy = brace_slips(answer, inputs, kit, handling, rerun)
        return [
            *findings.case_findings(answer, kit, handling, pointer, remedy),
            *findings.orientation_finding(answer, kit, handling, pointer),
            *travel_findings.travel_findings(answer, kit, handling, pointer),
            *findings.support_findings(answer, pointer),
            *joint_findings.hub_findings(answer, joints, pointer, lock),
            *joint_findings.stiffness_findings(answer, joints, kit, pointer, None),
            *joint_findings.buckling_findings(answer, joints, kit, handling, pointer),
            *joint_findings.rods_let_go(answer, pointer),
        ]

    def _prover(self, inputs: Inputs) -> Callable[[Mapping[str, Any]], Result | None]:
        return lambda patch: self.rerun(inputs, patch)

    def _asked_for(
        self, inputs: Inputs, answers: Sequence[SectionAnswer], kit: Kit, handling: Handling
    ) -> tuple[Vibration | None, Mapping[int, Suggested]]:
        try:
            shaken = vibration(answers, inputs, kit)
        except ArithmeticError as reason:
            raise CannotCalculate("/excitation", f"{reason}.") from reason
        if inputs.proving:
            return shaken, {}
        return shaken, suggestions(answers, inputs, kit, handling, self._prover(inputs))

    @staticmethod
    def _seeks(inputs: Inputs) -> bool:
        return bool(inputs["seek_remedies"]) and not inputs.proving

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        if "column" in result.value:
            words = "A column has no picture: its loads are in the result."
            return Drawing("Column", words, [])
        picture = result.value["picture"]
        if "structure" in inputs:
            given = inputs["structure"]
            members = given["members"]
            bars = Bars("Structure", given["nodes_mm"], members["start"], members["end"])
            return draw_mode(bars, picture) if view == "modes" else draw(bars, picture, view)
        kit = Kit.from_inputs(inputs["kit"])
        shown = next(one for one in prepare(inputs, kit) if one.id == picture["section"])
        part = shown.model.part
        if view == "two-part-hubs":
            hubs = hubs_of(shown.model)
            if hubs is None:
                words = "Nothing is said of how two-part hubs are put in."
                return Drawing(f"{shown.id}: two-part hubs", words, [])
            drawing = two_part_hubs_drawing(part, hubs.hubs, hubs.state)
            return replace(drawing, title=f"{shown.id}: {drawing.title}")
        if view == "modes":
            return draw_mode(Bars(shown.id, part.nodes_mm, part.start, part.end), picture)
        return draw(Bars(shown.id, part.nodes_mm, part.start, part.end), picture, view)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        if "column" in result.value:
            return column_table(result.value["column"])
        if "structure" in inputs:
            return structure_table(result.value, inputs)
        return section_table(result.value)

    def scene(self, inputs: Inputs, result: Result) -> Scene:
        if "column" in result.value:
            return Scene("Column", "A column by itself has no frame to see.")
        first = result.value["picture"].get("case", "")
        if "structure" in inputs:
            return structure_scene_of(check_structure(structure_of(inputs), inputs), first)
        return frame_scene_of(inputs, Kit.from_inputs(inputs["kit"]), first)


def _by_level(found: list[Finding]) -> list[Finding]:
    order = {"stop": 0, "watch": 1, "ok": 2}
    return sorted(found, key=lambda finding: order[finding.level])


def asked_value(
    place: int, shaken: Vibration | None, suggested: Mapping[int, Suggested]
) -> dict[str, Any]:
    """What one section answers to excitation and suggest."""
    value: dict[str, Any] = {}
    if shaken is not None and place in shaken.sections:
        value["vibration"] = shaken.sections[place].value
    if place in suggested and suggested[place].value:
        value["suggest"] = suggested[place].value
    return value


def _left_out(value: Mapping[str, Any]) -> list[str]:
    return [
        f"Left out for {section['section']}: {reason}."
        for section in value["sections"]
        for reason in section.get("left_out", ())
    ]
