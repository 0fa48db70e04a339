"""Part-count: what a machine takes of each part, and whether the shelf holds it."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Caution,
    Drawing,
    Finding,
    Inputs,
    InputSchema,
    Result,
    ResultSchema,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, ball_cautions, snapping_cautions
from ..frame import Frame, frame_of
from ..kit import Kit, available_counts
from . import findings, rows
from .bill_of_materials import explode
from .build import SOURCES as BUILD_SOURCES
from .build import build_answers, draw_order, draw_timetable, order_table
from .drawing import draw_by_section, draw_stock
from .examples import EXAMPLES
from .programme.drawing import draw_substitutes, draw_supplies
from .programme.findings import programme_findings
from .programme.reading import Answer, answer_of, wants_programme
from .programme.records import record_of
from .programme.text import ASSUMPTIONS, SOURCES, programme_cautions, table_columns, table_row
from .programme.whole import whole_rows
from .references import check_assembly, check_frame_references
from .schemas import BuildSchema, InputsSchema, PartListSchema
from .structure import section_parts
from .substitutes import plan_substitutes
from .tally import Tally, frame_tally

_FRAME_ASSUMPTIONS = (
    "Where bays and beams share a hub or rod it is counted once.",
    "Two diagonals of one face pass each other without a mid-hub; where compressions are given, "
    "two rods in line are placed on faces with one diagonal only.",
    "A two-part hub needs a diagonal that locks its halves; which way its open end faces is "
    "left to the builder.",
    "Ports that accessories use are not counted; every frame hub weighs as the kit's first in "
    "the masses of sections.",
)


class PartCount(Calculator):
    name = "part-count"
    version = "1.1.0"
    title = "Part count"
    summary = (
        "How many hubs, rods and other parts the machine takes, by section and in all, with "
        "shared parts counted once; which kinds of hub can stand where; what the shelf lacks and "
        "what can stand in for it; several machines from one shelf, mended at the least cost with "
        "the strength solved again; mass, bags, cost and hours to build; for a team the steps, a "
        "bag for each, and the days."
    )
    inputs_schema: ClassVar[type[InputSchema]] = InputsSchema
    result_schema: ClassVar[type[ResultSchema]] = PartListSchema
    examples = EXAMPLES
    sources = (
        Source(
            "Jacobs and Chase, Operations and Supply Chain Management",
            "material requirements planning: gross and net requirements, low-level codes",
        ),
        Source("Wright, Factors affecting the cost of airplanes, 1936", "T_n = T_1 n^b"),
        Source("Heizer and Render, Operations Management", "learning curves, unit model"),
        Source("Wideman, learning-curve mathematics", "cumulative-average model"),
        Source(
            "Timoshenko and Gere, Theory of Elastic Stability",
            "two rigid bars with a rotational spring (from memory)",
        ),
        Source("Rotation group of the cube: 24 rotations", "subset test of ports; derived"),
        *SOURCES,
        *BUILD_SOURCES,
        Source("Common practice, no source", "margin 1.5 on folding, 1000 snaps, 45 N push"),
    )
    cautions = (
        "Small parts are a choking hazard: keep rods, hubs and bags from small children.",
        "Full bags and finished sections are heavy: plan who lifts them before they are full.",
        "Two rods in line fold where one rod would hold: keep them out of loaded struts.",
        PLANNING_AID,
    )
    views: ClassVar[Mapping[str, str]] = {
        "by-section": "Count of each part in each section, as numbers and bars.",
        "stock": "Needed against what is on the shelf; with a programme, where each part is from.",
        "substitutes": "The frame with the members that are changed or left out.",
        "build-order": "Each section with the steps in which a team builds it, numbered.",
        "build-timetable": "Who of the team builds which step when.",
    }
    tabular = True
    table_title = "Parts list"

    def calculate(self, inputs: Inputs) -> Result:
        if "assembly" in inputs:
            return self._assembly(inputs)
        if "machines" in inputs:
            return self._machines(inputs)
        kit = Kit.from_inputs(inputs["kit"])
        frame = frame_of(inputs["frame"], kit)
        check_frame_references(inputs, frame, kit)
        _no_member_without_length(frame)
        stock = inputs.get("stock")
        free = None if stock is None else available_counts(stock)
        tally = frame_tally(
            frame, kit, inputs["accessories"], free, tolerance_deg=inputs["port_tolerance_deg"]
        )
        needed = {item: use.total for item, use in tally.uses.items()}
        plan = None if free is None else plan_substitutes(frame, kit, needed, free, inputs)
        sections = section_parts(frame, inputs["frame"].get("layout"))
        parts = rows.part_rows(inputs, kit, frame, tally, plan, _shelf(inputs))
        by_section = rows.section_rows(frame, kit, tally, sections)
        totals = rows.totals_row(parts, by_section)
        value: dict[str, Any] = {
            "counts": {item: count for item, count in needed.items() if count},
            "parts": parts,
            "totals": totals,
            "sections": by_section,
            "hub_kinds": rows.hub_kinds_row(frame, kit, tally),
            "structure": rows.structure_row(frame, sections),
        }
        if plan is not None:
            value["substitutions"] = rows.substitution_rows(plan, kit, parts, inputs)
            value["substitute_positions"] = rows.position_rows(plan, frame, kit)
        _add_build(value, totals["bays_count"], inputs)
        answer = answer_of(inputs) if wants_programme(inputs) else None
        if answer is not None:
            value["programme"] = record_of(answer)
        built = build_answers(
            inputs, _build_options(inputs), frame, kit, sections, tally, value,
            lambda patch: None if inputs.proving or answer else self.rerun(inputs, patch),
        )  # fmt: skip
        value |= built.value
        found = [
            *self._frame_findings(inputs, value, tally, frame, needed, answer),
            *_thumbs(value, inputs),
            *built.findings,
        ]
        said = [*_FRAME_ASSUMPTIONS, *(ASSUMPTIONS if answer else ()), *_shared_assumptions(value)]
        cautions = (*_called_for(value, [inputs["kit"]]), *built.cautions)
        return Result(value, found, [*said, *built.assumptions], cautions)

    def _machines(self, inputs: Inputs) -> Result:
        answer = answer_of(inputs)
        value = {**whole_rows(answer, inputs), "programme": record_of(answer)}
        _add_build(value, value["totals"]["bays_count"], inputs)
        found = [*programme_findings(answer, value["programme"]), *_thumbs(value, inputs)]
        known = set(answer.task.supply.parts)
        found += _shelf_findings(value["parts"], inputs.get("stock"), known)
        kits = [inputs["kit"], *(row["kit"] for row in inputs["more_kits"])]
        said = [*_FRAME_ASSUMPTIONS, *ASSUMPTIONS, *_shared_assumptions(value)]
        return Result(value, found, said, _called_for(value, kits))

    def _frame_findings(
        self,
        inputs: Inputs,
        value: Mapping[str, Any],
        tally: Tally,
        frame: Frame,
        needed: Mapping[str, int],
        answer: Answer | None,
    ) -> list[Finding]:
        stock, parts, ports = inputs.get("stock"), value["parts"], tally.hubs.ports
        missed = ports.missed > 0
        doubled = (ports.doubled > 0) & ~missed
        found = findings.hub_fit(value["hub_kinds"], int(missed.sum()), int(doubled.sum()))
        if answer is not None:
            found += programme_findings(answer, value["programme"])
            found += _shelf_findings(parts, stock, set(needed))
            return [*found, *findings.shared_parts(value["structure"])]
        if stock is not None:
            found += findings.hubs_short(value["hub_kinds"], parts, stock)
            found += findings.shortages(
                parts, value["substitutions"], stock, lambda item: self._proves(inputs, item)
            )
        found += findings.shelf(parts, stock, set(needed))
        return [*found, *findings.shared_parts(value["structure"])]

    def _proves(self, inputs: Inputs, item: str) -> bool:
        """Whether nothing is to be bought of `item` once pairs in line are built in."""
        if inputs.proving:
            return False
        again = self.rerun(inputs, {"use_substitutes": True})
        if again is None:
            return False
        return not any(row["to_buy_count"] for row in again.value["parts"] if row["item"] == item)

    def _assembly(self, inputs: Inputs) -> Result:
        check_assembly(inputs["assembly"])
        stock = inputs.get("stock")
        assembly = inputs["assembly"]
        free = None if stock is None else available_counts(stock)
        lines = explode(assembly["tree"], assembly["top"], assembly["units"], free)
        kit = Kit.from_inputs(inputs["kit"]) if "kit" in inputs else None
        listed = rows.assembly_rows(lines)
        parts = rows.assembly_part_rows(lines, inputs, kit, _shelf(inputs))
        value: dict[str, Any] = {
            "counts": {line.item: line.count for line in lines},
            "parts": parts,
            "totals": rows.totals_row([row for row in parts if row["kind"] == "part"], []),
            "assembly": listed,
        }
        _add_build(value, 0, inputs)
        found: list[Finding] = []
        if stock is not None:
            found += findings.shortages(parts, (), stock, lambda item: False)
        known = {line.item for line in lines}
        found += findings.shelf(
            [row for row in parts if row["kind"] == "part"], stock, known | {assembly["top"]}
        )
        text = "Finished assemblies on the shelf are used before new ones are built."
        return Result(value, found, [text, *_shared_assumptions(value)])

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        name, programme = _name(inputs), result.value.get("programme")
        if view in ("build-order", "build-timetable"):
            drawn = draw_order if view == "build-order" else draw_timetable
            return drawn(result.value.get("build_plan", {}), name)
        if view == "substitutes":
            return _substitutes(inputs, result.value, name)
        if view == "stock":
            return draw_supplies(programme, name) if programme else draw_stock(result.value, name)
        return draw_by_section(result.value, name)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        parts, programme = result.value["parts"], result.value.get("programme")
        sections = list(parts[0]["sections"]) if parts else []
        last = (
            "joints_count", "accessories_count", "needed_count", "total_count", "on_hand_count",
            "short_count", "to_buy_count", "left_count", "bags_count", "mass_kg", "cost",
        )  # fmt: skip
        more = table_columns(programme)
        table = TableData(
            ["item", "title", "kind", *(f"{name}_count" for name in sections), *last, *more],
            [
                [
                    row["item"],
                    row["title"],
                    row["kind"],
                    *(row["sections"][name] for name in sections),
                    *(row.get(name) for name in last),
                    *table_row(programme, row["item"]),
                ]
                for row in parts
            ],
        )
        plan = result.value.get("build_plan")
        return order_table(table, plan) if plan else table


def _name(inputs: Inputs) -> str:
    if "assembly" in inputs:
        return str(inputs["assembly"]["top"])
    if "machines" in inputs:
        return ", ".join(row["id"] for row in inputs["machines"])
    return str(inputs["frame"].get("layout", {}).get("title") or "machine")


def _substitutes(inputs: Inputs, value: Mapping[str, Any], name: str) -> Drawing:
    """The frame with its changes; of several machines the one with most of them."""
    if "assembly" in inputs:
        return Drawing(f"Changed members: {name}", "An assembly has no frame to show.", [])
    kits = {"": inputs["kit"], **{row["id"]: row["kit"] for row in inputs["more_kits"]}}
    changes = value.get("programme", {}).get("changes", ())
    frame, stated = inputs.get("frame"), inputs["kit"]
    if "programme" not in value:
        changes = [{**row, "what": "pair"} for row in value.get("substitute_positions", ())]
    if frame is None:
        ids = [row["machine"] for row in changes]
        shown = max(inputs["machines"], key=lambda row: ids.count(row["id"]))
        frame, stated, name = shown["frame"], kits[shown.get("kit", "")], shown["id"]
        changes = [row for row in changes if row["machine"] == name and 1 in row["copies"]]
    return draw_substitutes(frame_of(frame, Kit.from_inputs(stated)), changes, name)


def _no_member_without_length(frame: Frame) -> None:
    pointlike = (frame.length_mm <= 0).nonzero()[0]
    if len(pointlike):
        where = f"/frame/members/end/{int(pointlike[0])}"
        raise CannotCalculate(where, "Both ends lie at one point, so the rod takes no port.")


def _shelf(inputs: Inputs) -> dict[str, dict[str, int]] | None:
    if "stock" not in inputs:
        return None
    free = available_counts(inputs["stock"])
    return {
        row["item"]: {"on_hand_count": row["on_hand_count"], "free_count": free[row["item"]]}
        for row in inputs["stock"]["counts"]
    }


def _build_options(inputs: Inputs) -> Mapping[str, Any]:
    stated: Mapping[str, Any] = inputs.get("build") or BuildSchema().load({})
    return stated


def _add_build(value: dict[str, Any], bays: int, inputs: Inputs) -> None:
    options = _build_options(inputs)
    bays = options.get("bays_count", bays)
    if bays:
        value["build"] = rows.build_row(bays, options)


def _shelf_findings(
    parts: Sequence[Mapping[str, Any]], stock: Mapping[str, Any] | None, known: set[str]
) -> list[Finding]:
    """Whether there is a shelf and its items are known; what is short the programme says."""
    told = ("stock-not-given", "unknown-stock-item")
    return [f for f in findings.shelf(parts, stock, known) if f.code in told]


def _called_for(value: Mapping[str, Any], kits: Sequence[Mapping[str, Any]]) -> tuple[Caution, ...]:
    """Warnings of the snaps counted, of the smallest ball among the parts counted, of sawing."""
    counted = value["counts"]
    balls = [
        item["diameter_mm"]
        for kit in kits
        for item in kit["items"]
        if item["kind"] == "ball" and item.get("diameter_mm") and item["id"] in counted
    ]
    of_ball = ball_cautions(min(balls)) if balls else ()
    changed = programme_cautions(value["programme"]) if "programme" in value else ()
    return (*snapping_cautions(value["totals"]["snaps_count"]), *of_ball, *changed)


def _thumbs(value: Mapping[str, Any], inputs: Inputs) -> list[Finding]:
    hours = value.get("build", {}).get("hours", 0.0)
    push = inputs.get("build", {}).get("snap_push_n")
    return findings.thumb_work(value["totals"]["snaps_count"], hours, push)


def _shared_assumptions(value: Mapping[str, Any]) -> list[str]:
    lines = ["A part that the stock does not list is not there.", "Bags are packed by section."]
    build = value.get("build")
    if build is None:
        return [*lines, "No bays are known, so no build time is given; state build.bays_count."]
    return [
        *lines,
        f"Build time by the {build['learning_model']} model of the learning curve, one builder, "
        f"breaks left out.",
    ]
