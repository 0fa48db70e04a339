"""Named partial factors on strength."""

from dataclasses import dataclass


@dataclass(frozen=True)
class PartialFactor:
    """`value` divides the characteristic value; `why` is where it comes from."""

    value: float
    why: str


PARTIAL_FACTORS = {
    "none": PartialFactor(
        1.0, "no margin here: the strength check asks for its own required factor on the loads"
    ),
    "timber-connection": PartialFactor(
        1.3, "EN 1995-1-1 Table 2.3, connections, recommended value (from memory)"
    ),
    "steel-connection": PartialFactor(
        1.25, "EN 1993-1-8 Table 2.1, gamma M2, recommended value (from memory)"
    ),
    "friction-coupler": PartialFactor(
        1.65,
        "ratio of slip load to working load friction scaffold couplers are sold with, 10 kN to "
        "6.1 kN; common practice",
    ),
}
