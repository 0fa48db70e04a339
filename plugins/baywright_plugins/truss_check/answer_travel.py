"""What the way and the people come to, as it stands in the result."""

from typing import Any

import numpy as np

from .drop import Drop
from .handling import Handling
from .leaning import BARRIER_LOADS
from .load_factors import LoadFactors
from .travel import Leaned, Rolled, Travelled

Json = dict[str, Any]


def travel_value(told: Travelled) -> Json:
    """One section's answers beside its cases; follows TravelResultSchema."""
    value: Json = {}
    if told.falls is not None:
        falls = told.falls.all
        cases = {id(told.falls.worst): "drop-worst", id(told.falls.best): "drop-best"}
        heights = [one.first_slip_mm or 0.0 for one in falls]
        value["drop"] = {
            "height_mm": told.asked["drop"]["height_mm"],
            "falls": [_fall_value(one, cases.get(id(one))) for one in falls],
            "first_slip_height_min_mm": min(heights),
            "first_slip_height_max_mm": max(heights),
        }
    if told.rolled:
        value["threshold"] = {"ways": [_rolled_value(way) for way in told.rolled]}
        if told.push_ratio is not None:
            value["threshold"]["push_ratio"] = told.push_ratio
    if told.leaned:
        value["leaning"] = {"pushes": [_leaned_value(one) for one in told.leaned]}
        category = told.asked["leaning"].get("category")
        if category is not None:
            [load] = [one for one in BARRIER_LOADS if one.id == category]
            low, high = load.range_n_per_mm
            allowed = "" if low == high else f"; {low:g} to {high:g} kN/m allowed"
            value["leaning"]["source"] = f"{load.set}: {load.title}{allowed}"
    return value


def _fall_value(one: Drop, case: str | None) -> Json:
    value: Json = {
        "foot_stiffness_n_per_mm": one.foot_stiffness_n_per_mm,
        "frame_gives": one.frame_gives,
        "sink_at_rest_mm": one.static_mm,
        "dynamic_factor": one.dynamic_factor,
        "first_slip_factor": one.factor,
    }
    if case is not None:
        value["case"] = case
    if one.first_slip_mm is not None:
        value["first_slip_height_mm"] = one.first_slip_mm
    return value


def _rolled_value(way: Rolled) -> Json:
    if way.state is None:
        return {"toward": way.toward, "reason": way.reason}
    return {
        "toward": way.toward,
        "push_level": way.level,
        "push_height_mm": way.height_mm,
        "push_n": way.push_n,
        "first_slip_factor": float(way.state.factor),
    }


def _leaned_value(one: Leaned) -> Json:
    value: Json = {
        "case": one.state.case.id,
        "face": one.face,
        "load_n": one.leaning.total_n,
        "height_mm": one.leaning.height_mm,
        "first_slip_factor": float(one.state.factor),
    }
    if np.isfinite(one.tips_at_n):
        value["tips_at_n"] = one.tips_at_n
    if np.isfinite(one.slips_at_n):
        value["slips_at_n"] = one.slips_at_n
    return value


def factors_value(factors: LoadFactors, handling: Handling) -> Json:
    """The partial factors as they were used."""
    return {
        "set": factors.id,
        "permanent_ratio": factors.permanent,
        "variable_ratio": factors.variable,
        "accidental_ratio": factors.accidental,
        "required_planned_ratio": handling.required_planned_ratio,
        "required_accidental_ratio": handling.required_accidental_ratio,
        "why": factors.why,
    }
