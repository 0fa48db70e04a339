"""grid-fit: which rods close on the envelope, can the bays be braced, does it pass the doors?"""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Drawing,
    Fault,
    Finding,
    Inputs,
    InvalidInputs,
    Remedy,
    Result,
    Source,
    TableData,
    merge_patch,
)

from ..frame import Frame, frame_of
from ..kit import Kit, available_counts
from . import changes as smallest
from .bracing import sway_mm
from .closed_loops import Loop, close_loop
from .closing_rows import TooManyWays, closing_rows, longest_row
from .drawing import VIEWS, draw_view
from .envelope import AxisRows, axis_rows, layout_of, solutions
from .examples import EXAMPLES
from .findings import (
    bay_findings,
    joint_findings,
    loop_finding,
    passage_findings,
    row_findings,
    shortage_findings,
)
from .mechanisms import mechanisms_count
from .passages import AXES
from .records import (
    axis_record,
    bay_record,
    change_record,
    counts_record,
    loop_record,
    opening_record,
    rows_record,
    section_record,
    solution_record,
    stop_record,
)
from .route import Clearances, Passage, Stop, at_stop, passage_of
from .schemas import GridFitInputs, GridFitResult
from .sections import (
    BayKind,
    all_rods,
    bay_kinds,
    bracing_of,
    joint_facts,
    overall_mm,
    overhangs_mm,
    section_facts,
)
from .tables import rows_table

Value = dict[str, Any]


class GridFit(Calculator):
    """One published calculation: rods on the grid, sections through the doors."""

    name = "grid-fit"
    version = "1.0.0"
    title = "Grid fit"
    summary = (
        "Which rods, end to end, close on the envelope; can every bay be braced; do the sections "
        "get through every door, lift and corner, and what is the smallest change if not?"
    )
    inputs_schema = GridFitInputs
    result_schema = GridFitResult
    examples = EXAMPLES
    sources = (
        Source("W. B. Carver, problem E 1225, American Mathematical Monthly 64 (1957)", "tilting"),
        Source("J. E. Wetzel, Rectangles in rectangles, Mathematics Magazine 73 (2000)", "tilting"),
        Source("J. Stewart, Calculus", "section on optimisation: a ladder round a corner"),
        Source("S. Martello and P. Toth, Knapsack Problems (1990)", "chapter 3: bounded knapsack"),
        Source("Closing rule, play against misfit: common practice, no source"),
    )
    cautions = (
        "Measure each opening with the door held open, at its narrowest: handles, closers and "
        "rebates count. The tape measure decides, not the plan.",
        "Keep hands clear of the frame's sides in an opening, and lift with enough people: size "
        "and mass may each call for one more.",
        "Planning aid, not a safety certificate: follow local rules and let a competent or "
        "licensed person decide.",
    )
    views = VIEWS
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        work = _Work(self, inputs)
        work.spans()
        work.envelope()
        work.layout()
        work.bays()
        work.route()
        work.loops()
        return Result(work.value, work.findings, work.assumptions())

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return draw_view(result.value, view)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        return rows_table(result.value)


class _Work:
    """One run: fills `value` and `findings` step by step."""

    def __init__(self, calculator: GridFit, inputs: Inputs) -> None:
        self.calculator, self.inputs = calculator, inputs
        self.kit = Kit.from_inputs(inputs["kit"])
        self.available = available_counts(inputs["stock"]) if "stock" in inputs else None
        given = inputs.get("clearances") or {}
        self.clearances = Clearances(**given)
        self.value: Value = {}
        self.findings: list[Finding] = []
        self.raw_layout: Mapping[str, Any] | None = None
        self.frame: Frame | None = None

    # spans and loops ---------------------------------------------------------------------------

    def spans(self) -> None:
        if self.inputs["spans"]:
            records = [self._span(span, k) for k, span in enumerate(self.inputs["spans"])]
            self.value["spans"] = records

    def _span(self, span: Mapping[str, Any], place: int) -> Value:
        rods, limits = self._rods_at_hand(span, place)
        most = span.get("most_rods", self.inputs["most_rods"])
        record = self._rows_of(span, rods, limits, most, place)
        unlimited = not record["closes"] and limits != [most] * len(rods)
        short = unlimited and self._rows_of(span, rods, [most] * len(rods), most, place)["closes"]
        within = span["aim"] == "stay-within"
        self.findings += row_findings(
            span["title"] or f"Span {span['id']}",
            record,
            f"/spans/{place}",
            remedy=self._span_remedy(record, place),
            short_of_stock=bool(short),
            within=within,
        )
        return record

    def _rows_of(
        self,
        span: Mapping[str, Any],
        rods: Sequence[int],
        limits: Sequence[int],
        most: int,
        place: int,
    ) -> Value:
        search = longest_row if span["aim"] == "stay-within" else closing_rows
        try:
            rows = search(
                [self.kit.rods[k].pitch_um for k in rods],
                round(span["wanted_mm"] * 1000),
                play_um=self._play_um,
                limits=limits,
                most_rods=most,
                most_results=self.inputs["most_results"],
            )
        except TooManyWays as error:
            raise CannotCalculate(f"/spans/{place}/wanted_mm", _TOO_MANY) from error
        head = {"id": span["id"], "wanted_mm": span["wanted_mm"], "aim": span["aim"]}
        return {**head, **rows_record(rows, self._ids(rods), self._play_um)}

    def _rods_at_hand(self, span: Mapping[str, Any], place: int) -> tuple[list[int], list[int]]:
        most = span.get("most_rods", self.inputs["most_rods"])
        if "counts" in span:
            rods = [
                self._rod(row["rod"], f"/spans/{place}/counts/{k}/rod")
                for k, row in enumerate(span["counts"])
            ]
            return rods, [row["count"] for row in span["counts"]]
        rods = list(range(len(self.kit.rods)))
        return rods, [self._at_hand(k, most) for k in rods]

    def _span_remedy(self, record: Value, place: int) -> Remedy | None:
        nearest = record.get("nearest")
        if record["closes"] or nearest is None or self.inputs.proving:
            return None
        spans = [dict(span) for span in self.inputs.raw["spans"]]
        spans[place]["wanted_mm"] = nearest["length_mm"]
        after = self.calculator.rerun(self.inputs, {"spans": spans})
        if after is None or not after.value["spans"][place]["closes"]:
            return None
        return Remedy(f"Make it {nearest['length_mm']:g} mm.", {"spans": spans})

    def loops(self) -> None:
        if not self.inputs["loops"]:
            return
        self.value["loops"] = []
        for place, loop in enumerate(self.inputs["loops"]):
            rods = [
                self._rod(step["rod"], f"/loops/{place}/steps/{k}/rod")
                for k, step in enumerate(loop["steps"])
            ]
            closed = self._closed(loop["steps"], rods)
            record = loop_record(loop["id"], closed)
            self.value["loops"].append(record)
            remedy = None if closed.closes else self._loop_remedy(loop, rods, place)
            title = loop["title"] or loop["id"]
            self.findings.append(loop_finding(record, place, remedy, title))

    def _closed(self, steps: Sequence[Mapping[str, Any]], rods: Sequence[int]) -> Loop:
        return close_loop(
            [self.kit.rods[k].pitch_mm for k in rods],
            [step["direction"].tolist() for step in steps],
            play_mm=self._play_um / 1000,
            counts=[step["count"] for step in steps],
        )

    def _loop_remedy(
        self, loop: Mapping[str, Any], rods: Sequence[int], place: int
    ) -> Remedy | None:
        """One step's rods exchanged for another kind, where that closes the loop."""
        if self.inputs.proving:
            return None
        tries = [
            (step, rod)
            for step in range(len(rods))
            for rod in range(len(self.kit.rods))
            if rod != rods[step]
        ]
        for step, rod in tries[:_MOST_TRIES]:
            changed = [*rods[:step], rod, *rods[step + 1 :]]
            if not self._closed(loop["steps"], changed).closes:
                continue
            loops = [dict(one) for one in self.inputs.raw["loops"]]
            steps = [dict(one) for one in loops[place]["steps"]]
            old, new = steps[step]["rod"], self.kit.rods[rod].id
            steps[step]["rod"] = new
            loops[place]["steps"] = steps
            after = self.calculator.rerun(self.inputs, {"loops": loops})
            if after is not None and after.value["loops"][place]["closes"]:
                return Remedy(f"Exchange {old} for {new} in step {step + 1}.", {"loops": loops})
        return None

    # envelope ----------------------------------------------------------------------------------

    def envelope(self) -> None:
        envelope = self.inputs.get("envelope")
        if envelope is None:
            return
        rods = self._envelope_rods(envelope)
        axes = [self._axis(envelope, axis, rods) for axis in AXES]
        records = [axis_record(axis, self._ids(rods), self._play_um) for axis in axes]
        self.value["axes"] = records
        for place, record in enumerate(records):
            self.findings += row_findings(
                f"Along {record['axis']}",
                record,
                f"/result/axes/{place}",
                tolerance_mm=envelope["tolerance_mm"],
            )
        found = solutions(axes, self.kit, rods, self.inputs["most_results"])
        overhang = overhangs_mm(self.kit, self.inputs["flush_axes"])
        self.value["solutions"] = [
            solution_record(s, axes, self._ids(rods), self._play_um, overhang) for s in found
        ]
        if found and "layout" not in self.inputs:
            self.raw_layout = layout_of(found[0], self.inputs.raw["envelope"])

    def _axis(self, envelope: Mapping[str, Any], axis: str, rods: Sequence[int]) -> AxisRows:
        each_way = {"x": 1, "y": 1, "z": 1, **(envelope.get("sections") or {})}
        joint = envelope.get("joint_rod")
        joint_um = 0
        if joint is not None:
            joint_um = self.kit.rods[self._rod(joint, "/envelope/joint_rod")].pitch_um
        hubs = overhangs_mm(self.kit, self.inputs["flush_axes"])[axis]
        outside = 2 * hubs if envelope["measured"] == "outside" else 0.0
        wanted = round((envelope["size_mm"][axis] - outside) * 1000)
        joints = (each_way[axis] - 1) * joint_um
        if wanted <= joints:
            reason = f"Hub ends and joints alone take {(outside + joints / 1000):g} mm."
            raise CannotCalculate(f"/envelope/size_mm/{axis}", reason)
        # each rod of a row stands at least four times across one section
        across = 4
        for other in AXES:
            across *= each_way[other] if other != axis else 1
        most = self.inputs["most_rods"]
        limits = [
            self._at_hand(k, most * each_way[axis] * across) // across for k in rods
        ]
        try:
            return axis_rows(
                axis,
                wanted,
                sections_count=each_way[axis],
                joint_um=joint_um,
                kit=self.kit,
                rods=rods,
                limits=limits,
                most_rods=most,
                most_results=self.inputs["most_results"],
                tolerance_um=round(envelope["tolerance_mm"] * 1000),
            )
        except TooManyWays as error:
            raise CannotCalculate(f"/envelope/size_mm/{axis}", _TOO_MANY) from error

    def _envelope_rods(self, envelope: Mapping[str, Any]) -> list[int]:
        if "rods" not in envelope:
            return list(range(len(self.kit.rods)))
        places = [self._rod(rod, f"/envelope/rods/{k}") for k, rod in enumerate(envelope["rods"])]
        return sorted(set(places))

    # the frame, its bays and parts -------------------------------------------------------------

    def layout(self) -> None:
        layout = self.inputs.get("layout")
        if layout is not None:
            self.raw_layout = self.inputs.raw["layout"]
        elif self.raw_layout is not None:
            layout = self.calculator.load(
                {"kit": self.inputs.raw["kit"], "layout": self.raw_layout}, proving=True
            )["layout"]
        if layout is None or self.raw_layout is None:
            self._known_sections([])
            return
        frame = self.frame = frame_of({"layout": layout}, self.kit, pointer="")
        self._known_sections([spec["id"] for spec in self.raw_layout["sections"]])
        overhang = overhangs_mm(self.kit, self.inputs["flush_axes"])
        facts = section_facts(
            frame,
            self.raw_layout,
            self.kit,
            overhangs_mm=overhang,
            protruding_mm=self._protruding(),
        )
        joints = joint_facts(frame, self.raw_layout)
        rods = all_rods(frame, self.kit)
        self.value["sections"] = [section_record(one) for one in facts]
        self.value["joints"] = [
            {
                "between": list(one.between),
                "axis": one.axis,
                "rods_count": one.rods_count,
                "possible_count": one.possible_count,
                "matches": one.matches,
            }
            for one in joints
        ]
        hubs = len(frame.nodes_mm)
        self.value["parts"] = {"hubs_count": hubs, "rods": counts_record(rods)}
        self.value["shortages"] = self._shortages(rods, hubs)
        self._overall(frame, overhang)
        self.value["frame"] = {"layout": self.raw_layout}
        self.findings += joint_findings(self.value["joints"])
        self.findings += shortage_findings(self.value["shortages"])

    def _overall(self, frame: Frame, overhang: Mapping[str, float]) -> None:
        size = overall_mm(frame)
        low, high = {}, {}
        for k, axis in enumerate(AXES):
            ends = [
                (
                    section.at_mm[k] - self._protruding().get((section.id, f"{axis}-minus"), 0.0),
                    section.at_mm[k]
                    + self.value["sections"][n]["centreline_mm"][axis]
                    + self._protruding().get((section.id, f"{axis}-plus"), 0.0),
                )
                for n, section in enumerate(frame.sections)
            ]
            low[axis] = min(end[0] for end in ends) - overhang[axis]
            high[axis] = max(end[1] for end in ends) + overhang[axis]
        self.value["overall_centreline_mm"] = size
        self.value["overall_outside_mm"] = {
            axis: round(high[axis] - low[axis], 6) for axis in AXES
        }

    def _known_sections(self, ids: Sequence[str]) -> None:
        faults = [
            (
                f"/protrusions/{k}/section",
                Fault("unknown-reference", f"There is no section {part['section']}."),
            )
            for k, part in enumerate(self.inputs["protrusions"])
            if part["section"] not in ids
        ]
        faults += [
            (f"/boxes/{k}/id", Fault("not-unique", f"{box['id']} already names a section."))
            for k, box in enumerate(self.inputs["boxes"])
            if box["id"] in ids
        ]
        if faults:
            raise InvalidInputs(faults)

    def _protruding(self) -> dict[tuple[str, str], float]:
        """The furthest part on each side that is not taken off."""
        reach: dict[tuple[str, str], float] = {}
        for part in self.inputs["protrusions"]:
            if not (part["taken_off"] and part["removable"]):
                key = (part["section"], part["side"])
                reach[key] = max(reach.get(key, 0.0), part["mm"])
        return reach

    def _shortages(self, rods: Mapping[str, int], hubs: int) -> list[Value]:
        if self.available is None:
            return []
        frame_hubs = [hub.id for hub in self.kit.hubs if hub.role == "frame"]
        needs = [(rod, count, self.available.get(rod, 0)) for rod, count in rods.items()]
        there = sum(self.available.get(hub, 0) for hub in frame_hubs)
        needs.append((" and ".join(frame_hubs), hubs, there))
        return [
            {
                "item": item,
                "needed_count": needed,
                "available_count": free,
                "short_count": needed - free,
            }
            for item, needed, free in needs
            if needed > free
        ]

    def bays(self) -> None:
        kinds: list[BayKind] = []
        if self.frame is not None and self.raw_layout is not None:
            kinds = list(bay_kinds(self.frame, self.raw_layout, self.kit).values())
        known = {frozenset(kind.rods) for kind in kinds}
        for place, bay in enumerate(self.inputs["bays"]):
            for k, rod in enumerate(bay["rods"]):
                self._rod(rod, f"/bays/{place}/rods/{k}")
            pair = (bay["rods"][0], bay["rods"][1])
            if frozenset(pair) not in known:
                known.add(frozenset(pair))
                kinds.append(BayKind(pair, bracing_of(pair, self.kit)))
        if not kinds:
            return
        play = self._play_um / 1000
        records = [bay_record(kind, self.kit, sway_mm(play)) for kind in kinds]
        self.value["bays"] = records
        self.findings += bay_findings(records, play_mm=play)

    # the route ---------------------------------------------------------------------------------

    def route(self) -> None:
        stops = self._passages()
        outside = self._outside()
        self._route_rows(stops, outside)
        if not self.value.get("passages"):
            return
        changes = [] if self.inputs.proving else self._changes(stops, outside)
        if changes:
            self.value["changes"] = [change_record(change) for change in changes]
        sections = self.value.get("sections", [])
        kinds = {box["id"]: "Box" for box in self.inputs["boxes"]}
        kinds |= {section["id"]: "Section" for section in sections}
        self.findings += passage_findings(
            self.value["passages"],
            {section["id"]: section.get("twin_of", section["id"]) for section in sections},
            {stop.id: stop.title for stop in stops},
            kinds,
            changes,
            little_mm=self.clearances.little_spare_mm,
        )

    def _route_rows(
        self, stops: Sequence[Passage], outside: Mapping[str, Mapping[str, float]]
    ) -> None:
        if not stops or not outside:
            return
        passages, corners, openings = [], [], []
        for stop in stops:
            rows = []
            for name, size in outside.items():
                fare = at_stop(size, stop, self.clearances)
                rows.append(stop_record(name, stop, fare, size))
                corners += rows[-1].pop("corners")
            passages += rows
            openings.append(opening_record(stop, rows))
        self.value["openings"] = openings
        self.value["passages"] = passages
        if corners:
            self.value["corners"] = corners

    def _outside(self) -> dict[str, Mapping[str, float]]:
        sizes = {one["id"]: one["outside_mm"] for one in self.value.get("sections", [])}
        return sizes | {box["id"]: box["outside_mm"] for box in self.inputs["boxes"]}

    def _passages(self) -> list[Passage]:
        return [
            passage_of(
                id=stop["id"],
                title=stop["title"],
                width_mm=stop["leaf_off_width_mm"] if stop["leaf_off"] else stop.get("width_mm"),
                height_mm=stop.get("height_mm"),
                depth_mm=stop.get("depth_mm"),
                threshold_mm=stop["threshold_mm"],
                corner_mm=tuple(stop["corner_mm"].tolist()) if "corner_mm" in stop else None,
                clearances=self.clearances,
            )
            for stop in self.inputs["passages"]
        ]

    def _changes(
        self, stops: Sequence[Passage], outside: Mapping[str, Mapping[str, float]]
    ) -> list[smallest.Change]:
        if self.raw_layout is None:
            return []
        stuck = _stuck(self.value["passages"], {row["id"] for row in self.value["sections"]})
        if not stuck:
            return []
        by_id = {stop.id: stop for stop in stops}

        def passes(name: str, size: Mapping[str, float], passage: str) -> bool:
            fare: Stop = at_stop(size, by_id[passage], self.clearances)
            return min(size.values()) > 0 and fare.passes

        raw = {**self.inputs.raw, "layout": self.raw_layout}
        found = []
        for candidate in smallest.candidates(raw, stuck, outside, self.kit, passes):
            patch = self._on_inputs(candidate.patch)
            after = self.calculator.rerun(self.inputs, patch)
            change = smallest.proven(
                smallest.with_patch(candidate, patch),
                self.value,
                None if after is None else after.value,
                mechanisms=lambda value, names: self._mechanisms(value, names),
            )
            if change is not None:
                found.append(change)
        return sorted(found, key=lambda change: change.rank)

    def _on_inputs(self, patch: Mapping[str, Any]) -> Mapping[str, Any]:
        """A patch of a generated layout must bring the whole layout along."""
        if "layout" in patch and "layout" not in self.inputs.raw:
            return {**patch, "layout": merge_patch(self.raw_layout, patch["layout"])}
        return patch

    def _mechanisms(self, value: Mapping[str, Any], names: Any) -> dict[str, int]:
        layout = self.calculator.load(
            {"kit": self.inputs.raw["kit"], "layout": value["frame"]["layout"]}, proving=True
        )["layout"]
        frame = frame_of({"layout": layout}, self.kit, pointer="")
        twins = {one["id"]: one.get("twin_of", one["id"]) for one in value["sections"]}
        number = {section.id: k for k, section in enumerate(frame.sections)}
        known: dict[str, int] = {}
        for name in names:
            twin = twins[name]
            if twin not in known and value["sections"][number[twin]]["hubs_count"] <= _MOST_HUBS:
                known[twin] = mechanisms_count(frame.part(number[twin]))
        return {name: known[twins[name]] for name in names if twins[name] in known}

    # small things ------------------------------------------------------------------------------

    @property
    def _play_um(self) -> int:
        return round(2000 * self.kit.frame_hub.seat.play_mm)

    def _rod(self, rod: str, pointer: str) -> int:
        place = self.kit.rod_index.get(rod)
        if place is None:
            raise InvalidInputs(
                [(pointer, Fault("unknown-reference", f"The kit has no rod {rod}."))]
            )
        return place

    def _at_hand(self, rod: int, most: int) -> int:
        if self.available is None:
            return most
        return min(most, self.available.get(self.kit.rods[rod].id, 0))

    def _ids(self, rods: Sequence[int]) -> list[str]:
        return [self.kit.rods[k].id for k in rods]

    def assumptions(self) -> list[str]:
        hub = self.kit.frame_hub
        lines = [
            f"A row closes where its misfit is at most the play of its rods, "
            f"{2 * hub.seat.play_mm:g} mm each way for one rod with its two seats.",
        ]
        if "sections" in self.value:
            lines.append(
                f"Outside sizes count the overhang of {hub.id} ({hub.overhang_mm:g} mm) at both ends."
            )
        if self.value.get("passages"):
            c = self.clearances
            lines += [
                f"Openings are less {c.each_side_mm:g} mm for hands at each side, {c.above_mm:g} mm "
                f"above and {c.lifted_mm:g} mm lifted (or the threshold, where that is higher).",
                "Sections go through straight, not slanting to the opening's plane and not turned "
                "half-way.",
            ]
        if self.value.get("corners"):
            lines.append(
                f"Round a corner a carrier takes {self.clearances.carrier_each_end_mm:g} mm at each "
                "end of the longer side; no room for hands is taken off at its sides."
            )
        if self.value.get("loops"):
            lines.append("Loops: only give along the rods is counted, no bending.")
        return lines


def _stuck(rows: Sequence[Mapping[str, Any]], sections: set[str]) -> list[smallest.Stuck]:
    by_passage: dict[str, list[Mapping[str, Any]]] = {}
    for row in rows:
        if not row["passes"] and row["section"] in sections:
            by_passage.setdefault(row["passage"], []).append(row)
    return [
        smallest.Stuck(
            passage,
            tuple(row["section"] for row in mine),
            tuple(sorted({row["tight_axis"] for row in mine if "tight_axis" in row})),
        )
        for passage, mine in by_passage.items()
    ]


_TOO_MANY = (
    "There are too many sums to count them exactly; allow fewer rods, fewer kinds, or give pitches "
    "with fewer decimals."
)
_MOST_TRIES = 80
_MOST_HUBS = 900

__all__ = ["GridFit"]
