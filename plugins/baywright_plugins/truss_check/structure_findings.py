"""What stiff joints, buckling and seats come to in a structure, in words."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from .collapse_mode import BUCKLES
from .joint_answers import StructureJoints
from .joint_findings import seat_findings
from .numerals import figures
from .structure_check import StructureAnswer


def structure_joint_findings(
    answer: StructureAnswer,
    joints: StructureJoints,
    inputs: Mapping[str, Any],
    remedy: Remedy | None,
) -> list[Finding]:
    """Findings beside those of the pinned analysis. Args: remedy of the pinned mechanisms."""
    found = [*_stiff(answer, joints, remedy), *_buckling(joints)]
    rows = answer.value.get("limit_load", ())
    if rows:
        found += seat_findings(inputs)
    places = [k for k, row in enumerate(rows) if row.get("collapse_left_out") == BUCKLES]
    if places:
        found.append(
            Finding(
                "rod-buckles-before-seats-slip",
                "watch",
                f"A slender member buckles in {len(places)} load "
                f"case{'s' if len(places) > 1 else ''}: it does not keep its force, so no "
                "collapse factor is given. Go by first slip alone.",
                tuple(f"/limit_load/{place}" for place in places),
            )
        )
    return found


def holds_by_joints(joints: StructureJoints) -> bool:
    """Whether stiff joints hold what would fold with pinned ones."""
    return bool(joints.value.get("semi_rigid", {}).get("holds_by") == "hub-stiffness")


def _stiff(
    answer: StructureAnswer, joints: StructureJoints, remedy: Remedy | None
) -> list[Finding]:
    value = joints.value.get("semi_rigid")
    if value is None:
        return []
    spring = value.get("rotational_stiffness_n_mm_per_rad")
    of = "that do not turn" if spring is None else f"of {spring:g} N mm/rad"
    if value["holds_by"] == "nothing":
        return [
            Finding(
                "folds-with-stiff-hubs",
                "stop",
                f"The structure moves freely even with joints {of}. Support it, or join what is "
                "loose.",
                ("/semi_rigid",),
            )
        ]
    if value["holds_by"] == "bracing":
        return []
    moment = value.get("moment_max_n_mm")
    bends = "" if moment is None else f" A joint gets up to {figures(moment)} N mm."
    factors = [
        float(case["critical_factors"][0])
        for case in value["load_cases"]
        if len(case.get("critical_factors", ()))
    ]
    buckles = f" It buckles at {min(factors):.3g} times the load." if factors else ""
    count = answer.stability.mechanisms
    low = bool(factors) and min(factors) < 1.0
    return [
        Finding(
            "holds-only-by-hub-stiffness",
            "stop" if low else "watch",
            f"The structure holds only by joints {of}: pinned, it has {count} "
            f"mechanism{'' if count == 1 else 's'}.{bends}{buckles} Brace it, or make sure "
            "that its joints stay as stiff.",
            ("/semi_rigid",),
            Measure(count, 0, "1"),
            remedy,
        )
    ]


def _buckling(joints: StructureJoints) -> list[Finding]:
    value = joints.value.get("buckling")
    if value is None or value["governs"] == "frame":
        return []
    rods, factor = value["rods"], value["factor"]
    over = factor < 1.0
    return [
        Finding(
            "rod-buckles" if over else "buckling-governs",
            "stop" if over else "ok",
            f"Member {rods['member']} is the first to buckle, in {rods['case']} at {factor:.3g} "
            "times the load. " + ("Shorten or thicken it." if over else "It holds as loaded."),
            ("/buckling/rods",),
            Measure(float(factor), 1.0, "1"),
        )
    ]
