"""Columns given by themselves: what they carry before they buckle, and which way they go."""

import math
from collections.abc import Mapping
from typing import Any

from baywright_service.contract import CannotCalculate, Finding, Measure

from ..kit import euler_load_n
from ..kit.buckling_curves import imperfect_load_n, reduction
from .built_up import built_up_column, lacing_shear_stiffness_n, second_order_moment_n_mm
from .columns import LENGTH_FACTORS, sprung_length_factor
from .numerals import figures

Json = dict[str, Any]

ASSUMPTIONS = (
    "The load runs along the axis of the column; creep and slip in joints are left out.",
)


def column_answer(column: Mapping[str, Any]) -> tuple[Json, list[Finding]]:
    """Result member and findings of a single column, validated by `ColumnSchema`."""
    bending, length = _bending(column), column["length_mm"]
    factor = _length_factor(column, bending)
    euler = _finite(euler_load_n(length, bending, length_factor=factor), "/column")
    value: Json = {
        "critical_load_n": euler,
        "governs": "column",
        "euler_n": euler,
        "length_factor": factor,
        "effective_length_mm": factor * length,
        "bending_stiffness_n_mm2": bending,
    }
    if "compression_strength_n_per_mm2" in column:
        squash = column["compression_strength_n_per_mm2"] * _area(column)
        slenderness = math.sqrt(squash / euler)
        value |= {
            "squash_n": squash,
            "slenderness_ratio": slenderness,
            "reduction_ratio": reduction(slenderness, column["curve"]),
            "imperfect_load_n": imperfect_load_n(squash, euler, column["curve"]),
        }
        value["critical_load_n"] = min(euler, value["imperfect_load_n"])
        value["governs"] = "imperfect-column"
    _add_factor(value, column)
    return value, [_load_finding(value, column)]


def built_up_answer(column: Mapping[str, Any]) -> tuple[Json, list[Finding]]:
    """Result member and findings of a built-up column, validated by `BuiltUpColumnSchema`."""
    pointer = "/built_up_column"
    panel, apart, system = column["panel_mm"], column["chord_distance_mm"], column["system"]
    diagonal_mm = math.hypot(panel, apart)
    length = column.get("length_mm") or column["panels_count"] * panel
    factor = column.get("length_factor", LENGTH_FACTORS[column["ends"]])
    posts = system == "posts"
    post = (
        _in_series(column, _of(column, "post", "axial_stiffness_n"), apart) if posts else math.inf
    )
    shear = lacing_shear_stiffness_n(
        system,
        planes=column["planes_count"],
        diagonal_rigidity_n=_in_series(
            column, _of(column, "diagonal", "axial_stiffness_n"), diagonal_mm
        ),
        panel_mm=panel,
        chord_distance_mm=apart,
        post_rigidity_n=post,
    )
    free = column.get("chord_panel_mm", 2.0 * panel if system == "single" else panel)
    found = built_up_column(
        length_mm=length,
        chord_distance_mm=apart,
        chord_rigidity_n=_in_series(column, _of(column, "chord", "axial_stiffness_n"), panel),
        chord_bending_n_mm2=_of(column, "chord", "bending_stiffness_n_mm2"),
        chord_panel_mm=free,
        shear_stiffness_n=shear,
        chords=column["chords_count"],
        length_factor=factor,
    )
    value: Json = {
        "critical_load_n": _finite(found.critical_n, pointer),
        "governs": found.governs,
        "euler_n": _finite(found.euler_n, pointer),
        "length_factor": factor,
        "effective_length_mm": factor * length,
        "shear_stiffness_n": _finite(shear, pointer),
        "engesser_n": found.engesser_n,
        "chord_n": _finite(found.chord_n, pointer),
    }
    _add_factor(value, column)
    _add_moment(value, column, factor * length)
    return value, [_load_finding(value, column), *_chord_finding(value)]


def _bending(column: Mapping[str, Any]) -> float:
    if "bending_stiffness_n_mm2" in column:
        return float(column["bending_stiffness_n_mm2"])
    if "inertia_mm4" in column:
        inertia = column["inertia_mm4"]
    else:
        inertia = math.pi * (column["diameter_mm"] ** 4 - column["inner_diameter_mm"] ** 4) / 64
    return _finite(float(column["modulus_n_per_mm2"] * inertia), "/column")


def _area(column: Mapping[str, Any]) -> float:
    if "area_mm2" in column:
        return float(column["area_mm2"])
    return float(math.pi * (column["diameter_mm"] ** 2 - column["inner_diameter_mm"] ** 2) / 4)


def _length_factor(column: Mapping[str, Any], bending: float) -> float:
    if "end_spring_n_mm_per_rad" in column:
        return sprung_length_factor(bending, column["length_mm"], column["end_spring_n_mm_per_rad"])
    return float(column.get("length_factor", LENGTH_FACTORS[column["ends"]]))


def _of(column: Mapping[str, Any], part: str, stiffness: str) -> float:
    if f"{part}_{stiffness}" in column:
        return float(column[f"{part}_{stiffness}"])
    section = "area_mm2" if stiffness == "axial_stiffness_n" else "inertia_mm4"
    return float(column["modulus_n_per_mm2"] * column[f"{part}_{section}"])


def _in_series(column: Mapping[str, Any], rigidity: float, length_mm: float) -> float:
    """E A of a rod that gives as much as the rod and the seats at its ends."""
    if "seat_stiffness_n_per_mm" not in column:
        return rigidity
    seats = 2.0 / column["seat_stiffness_n_per_mm"]
    return float(length_mm / (length_mm / rigidity + seats))


def _finite(number: float, pointer: str) -> float:
    if not 0.0 < number < 1e30:
        raise CannotCalculate(pointer, "Its length and stiffnesses lie too far apart.")
    return number


def _add_factor(value: Json, column: Mapping[str, Any]) -> None:
    load = column.get("axial_load_n", 0.0)
    if load > 0:
        value["load_factor"] = _finite(value["critical_load_n"] / load, "/axial_load_n")


def _add_moment(value: Json, column: Mapping[str, Any], buckling_length_mm: float) -> None:
    load = column.get("axial_load_n", 0.0)
    if not 0 < load < 0.999 * value["engesser_n"]:
        return
    moment = second_order_moment_n_mm(
        load, buckling_length_mm, value["euler_n"], value["shear_stiffness_n"]
    )
    chords = column["chords_count"]
    value["middle_moment_n_mm"] = moment
    value["chord_force_n"] = load / chords + moment / (chords / 2 * column["chord_distance_mm"])


def _chord_finding(value: Json) -> list[Finding]:
    chord, whole = value["chord_n"], value["engesser_n"]
    if chord >= whole:
        return []
    return [
        Finding(
            "chord-buckles-between-lacing-points",
            "watch",
            f"The chords bow between lacing points at {figures(chord, 4)} N, while the column "
            f"formula gives {figures(whole, 4)} N. Shorten the panels or thicken the chords; do "
            "not count on the column formula.",
            ("/column/chord_n",),
            Measure(chord, whole, "N"),
        )
    ]


def _load_finding(value: Json, column: Mapping[str, Any]) -> Finding:
    critical = value["critical_load_n"]
    which = {
        "column": "It buckles as a straight elastic column",
        "imperfect-column": "A crooked column gives",
        "whole-column": "It buckles as a whole, bending and shearing,",
        "chord": "Its chords buckle between lacing points",
    }[value["governs"]]
    load = column.get("axial_load_n")
    if load is None:
        message = (
            f"{which} at {figures(critical, 4)} N. State axial_load_n to hold it against a load."
        )
        return Finding("buckling-load", "ok", message, ("/column/critical_load_n",),
                       Measure(critical, None, "N"))  # fmt: skip
    over = load >= critical
    return Finding(
        "column-buckles" if over else "buckling-load",
        "stop" if over else "ok",
        f"{which} at {figures(critical, 4)} N; it must carry {figures(load, 4)} N. "
        + ("Shorten it, or make it stiffer." if over else "Keep a margin for crookedness."),
        ("/column/critical_load_n",),
        Measure(load, critical, "N"),
    )
