"""chain-drive: does the chain lift work as a mechanism?"""

from typing import Any

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Drawing,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID, ball_cautions, drive_cautions
from . import answer, answer_space, drawing, study
from .assumptions import assumptions
from .drive_findings import drive_findings
from .examples import EXAMPLES
from .findings import chain_findings
from .schemas import ChainDriveInputs
from .schemas_result import ChainDriveResult

TABLE_COLUMNS = (
    "spacing_links_count",
    "hooks_count",
    "gap_mm",
    "same_kind_of_link",
    "hooks_per_min_same_speed",
    "balls_per_min_same_speed",
    "chain_speed_same_hooks_mm_s",
    "tooth_passing_same_hooks_hz",
    "clear_of_frame",
)


class ChainDrive(Calculator):
    """Links, hooks, comb, torque, motor, fuse and cage of one chain lift."""

    name = "chain-drive"
    version = "1.0.0"
    title = "Chain drive"
    summary = (
        "Does a chain lift work as a mechanism: do links and hooks come out even, is there room "
        "to tighten, do hooks clear the loading tongue with all tolerances, which motor turns it, "
        "at what torque must a clutch slip, and does a swinging cage close true?"
    )
    inputs_schema = ChainDriveInputs
    result_schema = ChainDriveResult
    examples = EXAMPLES
    sources = (
        Source(
            "ISO 606 / ANSI B29.1, roller chains", "pitch diameter, length, smallest breaking load"
        ),
        Source("Makers' selection procedures of roller chain", "even links, wrap, 3 percent wear"),
        Source(
            "P. J. Drake, Dimensioning and Tolerancing Handbook",
            "chapter 9, worst case and root-sum-square (from memory)",
        ),
        Source("Any mechanics text", "rolling of a solid sphere, statics, flat parabola"),
        Source("ISO 13857:2019 and ISO 13854:2017", "reach through openings, crushing gaps"),
        Source(
            "Common practice, no source",
            "breaking load over 8, service factor 2, 20 percent between frequencies, at least 12 "
            "teeth, motor within 10 percent of its speed",
        ),
    )
    cautions = (
        "Guard every pinch point of chain, sprocket and hook; children's fingers are thin.",
        "One stop button within reach must stop the lift; isolate the drive before clearing a jam "
        "or opening the cage: loaded hooks may run back.",
        "Mains wiring is for a licensed electrician; keep to protected extra-low voltage where "
        "you can.",
        PLANNING_AID,
    )
    views = {
        "drive": "Sprockets, chain and hooks from the side, with the adjuster's travel",
        "comb": "Teeth of a hook between the ribs of the tongue, with the wedge of tolerances",
        "torque": "Running torque, fuse window and what breaks on one bar",
    }
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        chain, frame, hooks = inputs["chain"], inputs.get("frame"), inputs.get("hooks")
        value: dict[str, Any] = {"loop": _loop(inputs)}
        links = value["loop"]["links_count"]
        value["spacings"] = study.spacings_result(chain, links, hooks, frame)
        if hooks is not None:
            value["motion"] = study.motion_result(chain, value["loop"], hooks, frame)
        if "lift" in inputs:
            self._driven(inputs, value)
        hinge, comb, ball = inputs.get("hinge"), inputs.get("comb"), inputs.get("ball")
        if comb is not None:
            value["comb"] = answer_space.comb_result(
                comb, answer_space.sideways_repeat(hinge), ball
            )
        if "loading" in inputs:
            value["loading"] = answer_space.loading_result(inputs, value["motion"])
        if hinge is not None:
            value["hinge"] = answer_space.hinge_result(hinge, comb)
        if "guard" in inputs:
            value["guard"] = answer_space.guard_result(inputs["guard"])
        findings = [
            *chain_findings(inputs, value, self.rerun),
            *drive_findings(inputs, value),
        ]
        cautions = list(ball_cautions(ball["diameter_mm"])) if ball is not None else []
        if "guard" in inputs:
            cautions += drive_cautions(answer_space.guard_of(inputs["guard"]))
        return Result(value, findings, assumptions(value), cautions)

    def _driven(self, inputs: Inputs, value: dict[str, Any]) -> None:
        torque = value["torque"] = answer.torque_result(inputs, value["loop"], value["motion"])
        if inputs["motors"]:
            value["motors"] = answer.motors_result(inputs["motors"], torque, value["motion"])
            best = answer.best_motor(value["motors"])
            if best is not None:
                value["best_motor"] = best
        if inputs["weak_points"]:
            value["fuse"] = answer.fuse_result(inputs, value["loop"], torque)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return drawing.VIEWS[view](inputs, result.value)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        rows = [[row.get(c, "") for c in TABLE_COLUMNS] for row in result.value["spacings"]]
        return TableData(TABLE_COLUMNS, rows)


def _loop(inputs: Inputs) -> dict[str, Any]:
    try:
        return study.loop_result(inputs["chain"], inputs.get("adjuster"))
    except ValueError:
        key = "links_count" if "links_count" in inputs["chain"] else "centre_distance_mm"
        reason = "The chain does not reach around both sprockets: they would overlap."
        raise CannotCalculate(f"/chain/{key}", reason) from None
