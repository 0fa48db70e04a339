"""floor-impact: does the floor survive a ball from the top, again and again?"""

from collections.abc import Mapping
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

from ..cautions import PLANNING_AID, ball_cautions
from ..kit import Kit
from . import answer, drawing, findings, schemas, schemas_result
from .assumptions import assumptions
from .examples import EXAMPLES
from .panel_frame import NotHeld, solved_panel
from .panel_spec import FLAT, ON_EDGE, ORIENTATIONS, PanelSpec
from .peak_force import Blow
from .remedies import offers, with_remedies
from .setup import Target, blow_of, laws_of, panel_of, targets_of
from .study import Bounds, Hit, NowhereToLand, Study, curve, study
from .words import where


class FloorImpact(Calculator):
    """Balls that fall on a panel of rods, deck or net: force, strength, wear and a drop test."""

    name = "floor-impact"
    version = "1.0.0"
    title = "Floor as a catching net"
    summary = (
        "Does the floor survive a ball from the top, again and again? Force and energy as ranges, "
        "on edge against flat, the worst place to be hit, what would slow the ball, and how many "
        "drops show it."
    )
    inputs_schema = schemas.Inputs
    result_schema = schemas_result.FloorImpactResult
    examples = EXAMPLES
    sources = (
        Source("Johnson, Contact Mechanics (1985)", "sections 4.2, 11.4 and 11.5"),
        Source("Gere, Goodno, Mechanics of Materials, 7th ed.", "problem 9.10-1"),
        Source("Roark's Formulas for Stress and Strain, from memory", "impact; Hertz contact"),
        Source("Flores et al., Multibody System Dynamics 25 (2011), from memory"),
        Source("Harris' Shock and Vibration Handbook, from memory", "chapter 8, half-sine pulse"),
        Source("IEC 60068-2-27, half-sine pulses", "Table 1"),
        Source("Timoshenko, Woinowsky-Krieger, Theory of Plates and Shells, from memory"),
        Source("Composite Materials Handbook CMH-17-1G", "Tables 8.5.12 and 8.5.13"),
        Source("NIST/SEMATECH e-Handbook of Statistical Methods", "7.2.4.2"),
        Source("EN 74-1, friction couplers: 10 kN slip, 6.1 kN in use (class A)"),
    )
    cautions = (
        "Keep hands and faces away from where balls fall, above all during drop tests: wear "
        "glasses.",
        "Close every edge of the floor: balls find each gap.",
        "A bare floor under steady hits is loud: felt spares ears as well as seats.",
        PLANNING_AID,
    )
    views = {
        "hit": "Ball and panel from the side at the worst place, with what it does there.",
        "force": "Force over time at the worst place, softest and hardest.",
        "places": "The panel from above: what each landing place uses of its strength.",
        "protocol": "Reliability shown by so many drops without failure.",
    }
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        kit, blow = Kit.from_inputs(inputs["kit"]), blow_of(inputs)
        spec = panel_of(inputs, kit)
        targets = targets_of(inputs, spec)
        studies = _studies(inputs, spec, blow, targets)
        value = _value(inputs, kit, blow, studies, targets)
        found = findings.all_findings(inputs, value)
        if not inputs.proving:

            def rerun(patch: Mapping[str, Any]) -> Result | None:
                return self.rerun(inputs, patch)

            tried = offers(inputs, value, rerun)
            value["measures"] = [
                {"what": o.message, "utilisation_max_ratio": o.used, "passes": o.used <= 1}
                for o in tried
            ]
            found = with_remedies(found, inputs, value, tried, rerun)
        cautions = ball_cautions(inputs["ball"]["diameter_mm"])
        return Result(value, tuple(found), assumptions(inputs, spec), cautions)

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        return drawing.VIEWS[view](result.value, inputs)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        """Every landing place of each orientation."""
        columns = (
            "along_mm", "across_mm", "over", "stiffness_n_per_mm", "moving_kg", "force_min_n",
            "force_max_n", "touch_min_n", "touch_max_n", "seat_slips_n", "gives_n", "allowed_n",
            "utilisation_min_ratio", "utilisation_max_ratio", "gives_first", "lifts_max_n",
        )  # fmt: skip
        rows = [
            [panel["orientation"], *(hit[column] for column in columns)]
            for panel in result.value["panels"]
            for hit in panel["hits"]
        ]
        return TableData(("orientation", *columns), rows)


def _studies(
    inputs: Inputs, spec: PanelSpec, blow: Blow, targets: Mapping[str, Target]
) -> dict[str, Study]:
    """Each orientation that can be worked out; of a proof only the one that is built."""
    built = inputs["panel"].get("built")
    wanted = [built] if inputs.proving and built else list(ORIENTATIONS)
    asked = inputs["panel"]
    bounds = Bounds(
        inputs["ball"]["restitution_min_ratio"],
        asked["damping_min_ratio"],
        asked["damping_max_ratio"],
    )
    found = {}
    for orientation in wanted:
        if orientation == FLAT and spec.seat.turning_n_mm_rad <= 0:
            continue
        try:
            panel = solved_panel(spec, orientation)
            found[orientation] = study(
                panel, blow, lambda kind: laws_of(inputs, targets[kind]), inputs["reserve_ratio"],
                bounds,
            )  # fmt: skip
        except NotHeld as error:
            if orientation == ON_EDGE:
                raise CannotCalculate("/panel", _LOOSE) from error
        except NowhereToLand as error:
            reason = "Every hub lies right on a support, so a ball loads nothing but that."
            raise CannotCalculate("/panel/supports/rests_on", reason) from error
    if built is not None and built not in found or not found:
        raise CannotCalculate("/panel/seat_turning_n_mm_per_rad", _LIMP)
    return found


_LOOSE = (
    "The panel moves without resistance, or its stiffnesses lie too far apart to be worked out: "
    "give it diagonals or hubs that resist turning."
)
_LIMP = (
    "A flat grid holds only by hubs that resist turning: give the turning stiffness of a seat, "
    "or build on edge."
)


def _value(
    inputs: Inputs,
    kit: Kit,
    blow: Blow,
    studies: Mapping[str, Study],
    targets: Mapping[str, Target],
) -> dict[str, Any]:
    ball = answer.ball_report(inputs, blow)
    ranked = answer.comparison_report(studies, inputs["panel"].get("built", ""), ball["energy_j"])
    comparison = {**ranked, "built": ranked["built"] or ranked["better"]}
    chosen = studies[comparison["built"]]
    hit, spec = chosen.worst_hit, chosen.panel.parts.spec
    panels = [answer.panel_report(one) for one in studies.values()]
    aims = answer.aims(chosen)
    bounce = (inputs["ball"]["restitution_min_ratio"], inputs["ball"]["restitution_max_ratio"])
    value: dict[str, Any] = {
        "length_mm": spec.length_mm,
        "width_mm": spec.width_mm,
        "ball": ball,
        "touch": [target.report(blow, bounce) for target in dict.fromkeys(targets.values())],
        "panels": panels,
        "comparison": comparison,
        "repeated": answer.repeated_report(inputs, kit, hit, spec, ball["hits_per_day_count"]),
        "test": answer.test_report(
            inputs, ball["hits_per_day_count"], [where(answer.hit_report(one)) for one in aims]
        ),
        "measures": [],
    }
    if not inputs.proving:
        value |= _curves(inputs, hit, blow, targets)
    stop = answer.stop_report(chosen, blow)
    if stop is not None:
        value["stop"] = stop
    if spec.deck is None:
        value["opening_mm"] = answer.opening_mm(spec)
    return value


def _curves(inputs: Inputs, hit: Hit, blow: Blow, targets: Mapping[str, Target]) -> dict[str, Any]:
    soft, hard = laws_of(inputs, targets[hit.place.kind])
    dull, asked = inputs["ball"]["restitution_min_ratio"], inputs["panel"]
    softest = curve(hit, blow, soft, restitution=dull, damping=asked["damping_max_ratio"])
    hardest = curve(hit, blow, hard, restitution=1.0, damping=asked["damping_min_ratio"])
    return {"softest": answer.curve_report(softest), "hardest": answer.curve_report(hardest)}


__all__ = ["FloorImpact"]
