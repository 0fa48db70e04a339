"""What one floor panel is made of: the numbers a model needs, in N, mm and kg."""

import math
from dataclasses import dataclass

ON_EDGE, FLAT = "on-edge", "flat"
ORIENTATIONS = (ON_EDGE, FLAT)


@dataclass(frozen=True)
class RodKind:
    """A round rod of the kit; `strength_*` of its material across the section."""

    id: str
    pitch_mm: float
    diameter_mm: float
    modulus_n_mm2: float
    mass_kg: float
    bending_strength_n_mm2: float
    shear_strength_n_mm2: float
    compression_n: float

    @property
    def area_mm2(self) -> float:
        return math.pi * self.diameter_mm**2 / 4

    @property
    def bending_n_mm2(self) -> float:
        """E I."""
        return self.modulus_n_mm2 * math.pi * self.diameter_mm**4 / 64

    @property
    def section_mm3(self) -> float:
        """W = pi d^3/32."""
        return math.pi * self.diameter_mm**3 / 32


@dataclass(frozen=True)
class Seat:
    """One seat: pull-out, bearing, axial stiffness, bending moment it holds, turning stiffness."""

    pull_out_n: float
    bearing_n: float
    stiffness_n_mm: float
    moment_n_mm: float
    turning_n_mm_rad: float


@dataclass(frozen=True)
class Deck:
    """A sheet that lies on the top hubs and rods without being fixed to them."""

    thickness_mm: float
    modulus_n_mm2: float
    poisson_ratio: float
    density_kg_m3: float

    @property
    def plate_n_mm(self) -> float:
        """D = E t^3/(12 (1 - nu^2))."""
        return self.modulus_n_mm2 * self.thickness_mm**3 / (12 * (1 - self.poisson_ratio**2))

    @property
    def mass_kg_mm2(self) -> float:
        return self.density_kg_m3 * self.thickness_mm * 1e-9


@dataclass(frozen=True)
class Supports:
    """Where the panel rests: ends, edges, corners, bearers (every so many bays), or a net; with a
    stiffness of 0 they do not give."""

    on: str
    every_bays: int
    stiffness_n_mm: float


@dataclass(frozen=True)
class PanelSpec:
    """A panel of `along` by `across` bays. On edge it is `across` + 1 flat trusses, tied by cross
    rods above and below; flat it is one grid of the same rods. `depth` and `diagonal` are of the
    trusses."""

    along: int
    across: int
    bay: RodKind
    cross: RodKind
    depth: RodKind
    diagonal: RodKind | None
    pattern: str
    hub_kg: float
    seat: Seat
    supports: Supports
    deck: Deck | None = None

    @property
    def length_mm(self) -> float:
        return self.along * self.bay.pitch_mm

    @property
    def width_mm(self) -> float:
        return self.across * self.cross.pitch_mm
