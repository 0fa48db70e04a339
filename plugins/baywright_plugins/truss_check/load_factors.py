"""Named sets of partial factors: what loads are multiplied by, and what margin is wanted then."""

from dataclasses import dataclass, replace
from typing import Any

from .handling import PLANNED, THRESHOLD, Case

#: The set that holds where none is named.
DEFAULT = "friction-coupler-1.65"


@dataclass(frozen=True)
class LoadFactors:
    """permanent: on self weight in planned cases; variable: on balls, pushes and other forces in
    planned cases; accidental: on all loads of mishaps. required_planned and required_accidental:
    the first-slip factor wanted on the loads so multiplied, which is where the margin on strength
    stands. why: where they come from."""

    id: str
    permanent: float
    variable: float
    accidental: float
    required_planned: float
    required_accidental: float
    why: str


SETS = {
    one.id: one
    for one in (
        LoadFactors(
            DEFAULT, 1.0, 1.0, 1.0, 1.65, 1.25,
            "Loads as they are; 1.65 is the ratio of slip to working load that friction scaffold "
            "couplers are sold with (10 kN to 6.1 kN, EN 74-1, from memory); 1.25 in mishaps is "
            "common practice, no source.",
        ),
        LoadFactors(
            "none", 1.0, 1.0, 1.0, 1.0, 1.0,
            "No margin at all: the first seat slips at 1. For comparing, not for building.",
        ),
        LoadFactors(
            "en-1990-like", 1.35, 1.5, 1.0, 1.3, 1.0,
            "Weight 1.35 and variable loads 1.5 as in EN 1990 Table A1.2(B), mishaps 1.0; 1.3 on "
            "strength as for timber connections in EN 1995-1-1 Table 2.3, 1.0 in mishaps (values "
            "from memory). Like the code, not a proof to it: seats are no connections it knows.",
        ),
    )
}  # fmt: skip


def own_factors(given: dict[str, Any]) -> LoadFactors:
    """A set by name, any of its numbers replaced by the builder's own."""
    named = SETS[given["set"]]
    own = {key: value for key, value in given.items() if key != "set"}
    if not own:
        return named
    changed = ", ".join(key.replace("_ratio", "").replace("_", " ") for key in sorted(own))
    numbers = {key.removesuffix("_ratio"): value for key, value in own.items()}
    return replace(named, **numbers, why=f"{named.why} Own numbers for: {changed}.")


def factored(case: Case, factors: LoadFactors) -> Case:
    """The case with its loads multiplied. Where a push follows from the weight, as over a step,
    it is multiplied like the weight."""
    planned = case.kind == PLANNED
    weight = factors.permanent if planned else factors.accidental
    forces = factors.variable if planned else factors.accidental
    if case.topic == THRESHOLD:
        forces = weight
    if weight == forces == 1.0:
        return case
    force = None if case.force_n is None else case.force_n * forces
    return replace(case, load_factor=case.load_factor * weight, force_n=force)
