"""Answers in bulk for a structure: the envelope of its load cases, and its variants."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs

from .envelope import envelope
from .equilibrium import Floats, Truss
from .first_slip import utilisation
from .many import VariantNotSolvable, VariantStates, solve_variants
from .solve import LinearState, NotSolvable, Solver

#: Member forces that are held in memory at a time.
MOST_FORCES = 2_000_000


def envelope_value(
    linear: LinearState, tension_n: Floats | None, compression_n: Floats | None
) -> dict[str, Any]:
    """The `envelope` member of a structure's result; empty without load cases."""
    if not len(linear.member_force_n):
        return {}
    found = envelope(linear.member_force_n, tension_n, compression_n)
    value: dict[str, Any] = {
        "force_max_n": found.most_n,
        "force_min_n": found.least_n,
        "displacement_max_mm": float(_farthest(linear.displacement_mm).max()),
        "residual_ratio": float(linear.residual_ratio.max()),
    }
    if found.utilisation is not None:
        value["utilisation_ratio"] = found.utilisation
        value["governing_case"] = found.case
        value["utilisation_max"] = float(found.utilisation.max())
        value["governing_member"] = int(found.utilisation.argmax())
    return value


def _farthest(displacement_mm: Floats) -> Floats:
    """Largest movement of a node (..., n, 3) in each case (...)."""
    squares = np.einsum("...na,...na->...n", displacement_mm, displacement_mm)
    return np.asarray(np.sqrt(squares.max(axis=-1)))


def variants_value(
    truss: Truss,
    forces_n: Floats,
    tension_n: Floats | None,
    compression_n: Floats | None,
    given: Mapping[str, Any],
) -> dict[str, Any]:
    """The `variants` member of a structure's result; forces (c, n, 3), capacities (m,).

    Raises InvalidInputs where rows have the wrong length, and CannotCalculate with the variant
    that cannot be solved.
    """
    cases, bars = len(forces_n), len(truss.start)
    factor, rigidity = given.get("load_factor"), given.get("axial_stiffness_n")
    _check_rows(rigidity, factor, bars, cases)
    variants = len(rigidity if rigidity is not None else factor)  # type: ignore[arg-type]
    if factor is None:
        factor = np.ones((variants, cases))
    if rigidity is None:
        rigidity = np.broadcast_to(truss.stiffness_n_per_mm * truss.length_mm, (variants, bars))
    columns: dict[str, list[Any]] = {}
    at_once = max(1, MOST_FORCES // (cases * bars))
    for first in range(0, variants, at_once):
        part = slice(first, first + at_once)
        states = _solved(truss, rigidity[part] / truss.length_mm, forces_n, first)
        for name, column in _worst(states, factor[part], tension_n, compression_n).items():
            columns.setdefault(name, []).append(column)
    value = {name: np.concatenate(parts) for name, parts in columns.items()}
    used = value.get("utilisation_max")
    if used is not None and (used > 0).all():
        value["first_slip_factor"] = 1.0 / used
    return value


def _check_rows(rigidity: Floats | None, factor: Floats | None, bars: int, cases: int) -> None:
    place = "/structure/variants"
    faults = []
    if rigidity is None and factor is None:
        faults.append((place, Fault("missing", "Give axial_stiffness_n or load_factor.")))
    if not cases:
        detail = "Variants need at least one load case."
        faults.append(("/structure/load_cases", Fault("missing", detail)))
    if rigidity is not None and rigidity.shape[1] != bars:
        detail = f"Each row must hold {bars} entries, one for each member."
        faults.append((f"{place}/axial_stiffness_n", Fault("out-of-range", detail)))
    if factor is not None and factor.shape[1] != cases:
        detail = f"Each row must hold {cases} entries, one for each load case."
        faults.append((f"{place}/load_factor", Fault("out-of-range", detail)))
    if rigidity is not None and factor is not None and len(rigidity) != len(factor):
        detail = f"Must hold {len(rigidity)} rows, as many as axial_stiffness_n."
        faults.append((f"{place}/load_factor", Fault("out-of-range", detail)))
    if faults:
        raise InvalidInputs(faults)


def _solved(truss: Truss, stiffness: Floats, forces_n: Floats, first: int) -> VariantStates:
    try:
        return solve_variants(truss, stiffness, forces_n)
    except VariantNotSolvable as error:
        raise _refused(first + error.variant, str(error)) from error
    except NotSolvable:
        return _one_by_one(truss, stiffness, forces_n, first)


def _one_by_one(truss: Truss, stiffness: Floats, forces_n: Floats, first: int) -> VariantStates:
    states = []
    for place, row in enumerate(stiffness):
        one = Truss(truss.nodes_mm, truss.start, truss.end, row, truss.fixed, truss.spring_n_per_mm)
        try:
            states.append(Solver(one).solve(forces_n))
        except NotSolvable as error:
            raise _refused(first + place, str(error)) from error
    return VariantStates(
        np.array([state.member_force_n for state in states]),
        np.array([state.displacement_mm for state in states]),
        np.array([state.residual_ratio.max() for state in states]),
    )


def _refused(variant: int, reason: str) -> CannotCalculate:
    detail = f"Stiffnesses of this variant lie too far apart to be solved: {reason}."
    return CannotCalculate(f"/structure/variants/axial_stiffness_n/{variant}", detail)


def _worst(
    states: VariantStates, factor: Floats, tension_n: Floats | None, compression_n: Floats | None
) -> dict[str, Any]:
    force = states.member_force_n * factor[:, :, None]
    value: dict[str, Any] = {
        "force_max_n": np.abs(force).max(axis=(1, 2)),
        "displacement_max_mm": (_farthest(states.displacement_mm) * np.abs(factor)).max(axis=1),
        "residual_ratio": states.residual_ratio,
    }
    if tension_n is not None and compression_n is not None:
        used = utilisation(force, tension_n, compression_n).reshape(len(force), -1)
        place = used.argmax(axis=1)
        value["utilisation_max"] = used[np.arange(len(used)), place]
        value["governing_case"], value["governing_member"] = np.divmod(place, force.shape[2])
    return value
