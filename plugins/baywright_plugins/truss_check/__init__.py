"""Truss-check: does the frame hold, standing and carried, and what mends it?"""

from collections.abc import Mapping
from typing import Any, ClassVar

from baywright_service.contract import (
    Calculator,
    Drawing,
    Finding,
    Inputs,
    InputSchema,
    Result,
    ResultSchema,
    Source,
    TableData,
)

from ..kit import Kit
from . import findings, travel_findings
from .answer_columns import ASSUMPTIONS as COLUMN_ASSUMPTIONS
from .answer_columns import built_up_answer, column_answer
from .answer_travel import factors_value
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
from .picture import frame_picture, structure_picture
from .remedies import brace_mechanisms, brace_slips, join_nodes
from .schemas import TrussCheckInputs, TrussCheckResult
from .structure_check import check_structure, structure_of
from .tables import column_table, section_table, structure_table

_COMMON = (
    "Hubs are ball joints and members carry along their length only; the turning stiffness of "
    "seats, and the bending it brings into rods, are left out.",
    "Displacements are small; play in the seats and creep are left out.",
)
_FRAME = (
    "Each section is checked as a rigid body of its own, held at sprung hubs as its cases say.",
    "Carrying multiplies weight by the dynamic factor; swinging is left out, and so are drops, "
    "thresholds and people who lean, unless asked for under travel.",
    "At collapse a slipping seat keeps its force; a seat that lets go is worse than that.",
)


class TrussCheck(Calculator):
    name = "truss-check"
    version = "1.0.0"
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
        Source("Common practice, no source", "dynamic factor 1.5, mishap factor 1.25, grips"),
    )
    cautions = (
        "Never overhead, never for people: a frame of rods and snap-in hubs gives without notice.",
        "Rigid is not strong: a stiff frame can be close to slipping.",
        "Lift with enough people, at the grips stated, and keep clear of what could fall.",
        "Strength of seats falls with use and time: put in the values of used, not of new parts.",
        "Planning aid, not a safety certificate: follow local rules and let a competent or "
        "licensed person decide.",
    )
    views: ClassVar[Mapping[str, str]] = {
        "utilisation": "How much of its capacity each member uses in the worst case.",
        "deformed": "How the frame moves in that case, enlarged.",
        "mechanism": "How a frame that folds moves.",
        "worst-orientation": "Each member in the direction of gravity that is worst for it.",
    }
    tabular = True

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
        value = {**answer.value, "picture": structure_picture(answer, inputs)}
        assumptions = list(_COMMON)
        if "limit_load" in value and not any(
            "collapse_factor" in row for row in value["limit_load"]
        ):
            assumptions.append(
                "Collapse is left out: nothing bounds it, or the structure is large."
            )
        return Result(value, findings.structure_findings(answer, remedy), assumptions)

    def _frame(self, inputs: Inputs) -> Result:
        kit, handling = Kit.from_inputs(inputs["kit"]), handling_of(inputs)
        analyses = inputs.get("analyses", ("limit-load",))
        answers = check_sections(
            prepare(inputs, kit), inputs, kit, with_limits="limit-load" in analyses
        )
        full = inputs["detail"] == "full"
        value: dict[str, Any] = {
            "sections": [section_value(a, kit, handling, full=full) for a in answers],
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
            for finding in self._section_findings(inputs, answer, kit, handling, place)
        ]
        order = {"stop": 0, "watch": 1, "ok": 2}
        found.sort(key=lambda finding: order[finding.level])
        return Result(value, found, (*_COMMON, *_FRAME, *_left_out(value)))

    def _section_findings(
        self, inputs: Inputs, answer: SectionAnswer, kit: Kit, handling: Handling, place: int
    ) -> list[Finding]:
        pointer = f"/sections/{place}"
        seeks = self._seeks(inputs)

        def rerun(patch: Mapping[str, Any]) -> Result | None:
            return self.rerun(inputs, patch)

        if answer.held.mechanisms:
            remedy = brace_mechanisms(answer, inputs, rerun) if seeks else None
            return [findings.mechanism_finding(answer, pointer, remedy)]
        remedy = brace_slips(answer, inputs, kit, handling, rerun) if seeks else None
        return [
            *findings.case_findings(answer, kit, handling, pointer, remedy),
            *findings.orientation_finding(answer, kit, handling, pointer),
            *travel_findings.travel_findings(answer, kit, handling, pointer),
            *findings.support_findings(answer, pointer),
        ]

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
            return draw(bars, picture, view)
        kit = Kit.from_inputs(inputs["kit"])
        shown = next(one for one in prepare(inputs, kit) if one.id == picture["section"])
        part = shown.model.part
        return draw(Bars(shown.id, part.nodes_mm, part.start, part.end), picture, view)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        if "column" in result.value:
            return column_table(result.value["column"])
        if "structure" in inputs:
            return structure_table(result.value, inputs)
        return section_table(result.value)


def _left_out(value: Mapping[str, Any]) -> list[str]:
    return [
        f"Left out for {section['section']}: {reason}."
        for section in value["sections"]
        for reason in section.get("left_out", ())
    ]
