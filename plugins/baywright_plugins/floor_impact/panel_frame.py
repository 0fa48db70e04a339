"""A panel solved once: how far each point gives, what each rod carries, how it swings.

Frame elements come from `truss_check.semi_rigid`: a rod sits in its hubs with turning springs.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import scipy.linalg
import scipy.sparse as sp
from numpy.typing import NDArray

from ..kit import seated_stiffness_n_per_mm
from ..truss_check.semi_rigid import Rods, SemiRigid, frame_stiffness
from .panel_parts import Bar, Parts, Place, panel_parts
from .panel_spec import Deck, PanelSpec, Seat
from .swing import Shapes

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: Points lighter than this share of the panel's mean point are taken to be as heavy, so that
#: weightless hubs still swing; it makes no difference to anything slower.
_LEAST_MASS = 1e-3
#: A support that does not give, over the stiffest bar.
_RIGID = 1e3


@dataclass(frozen=True)
class Carried:
    """Forces in the rods' bars: axial (b, c), tension positive; moments at both ends (b, 2, k, c)
    about k axes across the bar, of one sense, so that (first + second)/length is the shear."""

    axial_n: Floats
    moment_n_mm: Floats

    def times(self, matrix: Floats) -> "Carried":
        """Combined over the last axis: (.., c) @ (c, k)."""

        def combined(of: Floats) -> Floats:
            return np.asarray((of.reshape(-1, of.shape[-1]) @ matrix).reshape(*of.shape[:-1], -1))

        return Carried(combined(self.axial_n), combined(self.moment_n_mm))

    def swung(self, force: Floats, still: "Carried") -> "Carried":
        """These forces, scaled case by case, on top of what the panel carries `still` (.., 1)."""
        return Carried(
            still.axial_n + self.axial_n * force, still.moment_n_mm + self.moment_n_mm * force
        )


class NotHeld(ArithmeticError):
    """The panel moves without resistance, or its stiffnesses lie too far apart to be solved."""


class Panel:
    """A panel in one orientation under a push down on each point that can move.

    Raises:
        NotHeld

    Leaves out: the size of hubs, twist of rods, slip, a deck or panel that lifts off what it lies
    on while it swings, tension of a sagging net or deck, hubs moving sideways (trusses on edge are
    held upright).
    Source: direct stiffness method, `truss_check.semi_rigid`; the deck as a grid of strips, which
    a test holds against Timoshenko and Woinowsky-Krieger's square plate.
    """

    def __init__(self, parts: Parts) -> None:
        self.parts = parts
        self.points_mm: Floats = np.array(parts.points)
        self.rod_bars = [bar for bar in parts.bars if bar.rod is not None]
        rods = _bars(parts, self.points_mm)
        given = parts.spec.supports.stiffness_n_mm
        self.rests_n_mm = given if given > 0 else _RIGID * float(rods.axial_n_per_mm.max())
        fixed, springs = _held(parts, self.rests_n_mm)
        count = len(self.points_mm)
        unit = np.zeros((count, 3, count))
        unit[:, 2] = -np.eye(count)
        try:
            with np.errstate(all="ignore"):
                state = SemiRigid(count, rods, fixed, springs).solve(unit)
        except (np.linalg.LinAlgError, RuntimeError, ValueError) as error:
            raise NotHeld(str(error)) from error
        down = -state.displacement_mm[:, 2, :]
        if not np.isfinite(down).all() or (down.diagonal() <= 0).any():
            raise NotHeld("no finite deflection")
        #: Deflection down of point i per newton down on point j, (n, n).
        self.gives_mm_n: Floats = np.asarray((down + down.T) / 2)
        self.carried = _carried(self.rod_bars, rods, state.displacement_mm, state.rotation_rad)

    @cached_property
    def mass_kg(self) -> Floats:
        """Of every point, (n,)."""
        mass = np.array(self.parts.mass_kg)
        return np.asarray(np.maximum(mass, _LEAST_MASS * max(float(mass.mean()), 1e-6)))

    @property
    def total_kg(self) -> float:
        return float(sum(self.parts.mass_kg))

    def stiffness_n_mm(self, point: int) -> float:
        """Force per deflection where a ball lands."""
        return float(1 / self.gives_mm_n[point, point])

    def moving_kg(self, point: int) -> float:
        """Mass that moves with a hit: sum of m (w/w_hit)^2 over its static deflection.

        Source: Rayleigh; for a simple beam hit in the middle 17/35 of its mass, as in Roark.
        """
        shape = self.gives_mm_n[:, point] / self.gives_mm_n[point, point]
        return float((self.mass_kg * shape**2).sum())

    def own_weight(self, gravity_m_s2: float) -> Carried:
        """What the panel's own weight loads its rods with, one case."""
        return self.carried.times(self.mass_kg[:, None] * gravity_m_s2)

    @cached_property
    def pushed_n(self) -> Floats:
        """What each support pushes up under 1 N down on each point, (supports, n)."""
        rests = list(self.parts.supports)
        return np.asarray(self.rests_n_mm * self.gives_mm_n[rests])

    @cached_property
    def _swings(self) -> tuple[Floats, Floats]:
        root = np.sqrt(self.mass_kg)
        soft = root[:, None] * self.gives_mm_n * root[None, :]
        values, vectors = scipy.linalg.eigh(soft)
        kept = values > 1e-12 * values[-1]
        return values[kept], vectors[:, kept]

    def shapes(self, points: list[int]) -> Shapes:
        """Natural swings and how they move at the hit points."""
        values, vectors = self._swings
        omega = np.sqrt(1000 / values)
        return Shapes(omega, (vectors / np.sqrt(self.mass_kg)[:, None]).T[:, points])

    def carried_by_shapes(self) -> Carried:
        """Forces in the rods for an amount of 1 mm sqrt(kg) of each swing."""
        values, vectors = self._swings
        return self.carried.times(np.sqrt(self.mass_kg)[:, None] * vectors / values)


@lru_cache(maxsize=6)
def solved_panel(spec: PanelSpec, orientation: str) -> Panel:
    """The panel, kept for the next question about the same one. Raises NotHeld."""
    return Panel(panel_parts(spec, orientation))


def places_hit(panel: Panel) -> list[Place]:
    """Landing places, one of each set of mirror images, but for those right on a rigid support."""
    spec, parts = panel.parts.spec, panel.parts
    half_x = spec.length_mm / 2 if mirrored_along(parts) else spec.length_mm
    dead = set() if spec.supports.stiffness_n_mm > 0 else set(parts.supports)
    dead |= {deck for below, deck in parts.links if below in dead}
    return [
        place
        for place in parts.places()
        if place.point not in dead
        and place.along_mm <= half_x * (1 + 1e-9)
        and place.across_mm <= spec.width_mm / 2 * (1 + 1e-9)
    ]


def mirrored_along(parts: Parts) -> bool:
    """Whether the panel is its own mirror image from end to end; across it always is."""
    long = parts.spec.length_mm
    keys = [tuple(round(x, 6) for x in point) for point in parts.points]
    number = {key: point for point, key in enumerate(keys)}
    image = [number.get((round(long - x, 6), y, z), -1) for x, y, z in keys]
    if -1 in image:
        return False
    pairs = {frozenset((bar.start, bar.end)) for bar in parts.bars}
    turned = {frozenset((image[bar.start], image[bar.end])) for bar in parts.bars}
    rests = set(parts.supports)
    return pairs == turned and rests == {image[point] for point in rests}


def _held(parts: Parts, rests_n_mm: float) -> tuple[NDArray[np.bool_], Floats]:
    count = len(parts.points)
    fixed = np.zeros((count, 3), dtype=bool)
    fixed[:, 1] = True
    fixed[:, 0] = not parts.bottom
    fixed[list(parts.deck.values()), 0] = True
    fixed[[point for (i, _), point in parts.bottom.items() if i == 0], 0] = True
    springs = np.zeros((count, 3))
    springs[list(parts.supports), 2] = rests_n_mm
    return fixed, springs


def _bars(parts: Parts, points_mm: Floats) -> Rods:
    seat, deck = parts.spec.seat, parts.spec.deck
    rows = [_bar(bar, seat, deck) for bar in parts.bars]
    stiffest = max(row[0] for row in rows)
    links = [(100 * stiffest, 0.0, 0.0, 0.0, 0.0)] * len(parts.links)
    axial, bending, torsion, first, second = np.array([*rows, *links]).T
    start: Ints = np.array([bar.start for bar in parts.bars] + [a for a, _ in parts.links])
    end: Ints = np.array([bar.end for bar in parts.bars] + [b for _, b in parts.links])
    away = points_mm[end] - points_mm[start]
    length = np.linalg.norm(away, axis=1)
    springs = np.column_stack([first, second])
    direction = away / length[:, None]
    return Rods(start, end, direction, length, axial, bending, torsion, springs)


def _bar(bar: Bar, seat: Seat, deck: Deck | None) -> tuple[float, float, float, float, float]:
    """Axial stiffness, E I, G J/L and both end springs; half a rod has its own seat alone."""
    if bar.rod is None:
        assert deck is not None
        bending = deck.plate_n_mm * bar.width_mm
        # Strips know no cross bending: D in place of D (1 - nu) for twist makes up for it.
        return bending / bar.pitch_mm**3, bending, bending / bar.pitch_mm, np.inf, np.inf
    rod = bar.rod
    rigidity = rod.modulus_n_mm2 * rod.area_mm2
    whole = seated_stiffness_n_per_mm(rod.pitch_mm, rigidity, seat.stiffness_n_mm)
    springs = [seat.turning_n_mm_rad if held else np.inf for held in bar.held]
    axial = whole if all(bar.held) else 2 * whole
    return axial, rod.bending_n_mm2, 0.0, springs[0], springs[1]


def _carried(bars: list[Bar], rods: Rods, moved: Floats, turned: Floats) -> Carried:
    """End forces of the rods' bars, each bar with two points of its own in one block matrix."""
    count = len(bars)  # rods come first among all bars
    own = Rods(
        2 * np.arange(count),
        2 * np.arange(count) + 1,
        *(getattr(rods, name)[:count] for name in _COLUMNS),
    )
    ends = np.stack([rods.start[:count], rods.end[:count]], axis=1)
    state = np.concatenate([moved[ends], turned[ends]], axis=2)
    cases = moved.shape[2]
    matrix = sp.csr_array(frame_stiffness(2 * count, own))
    force = np.asarray(matrix @ state.reshape(12 * count, cases)).reshape(count, 2, 6, cases)
    e = own.direction
    axial = (force[:, 1, :3] * e[:, :, None]).sum(axis=1)
    sideways = np.where(np.abs(e[:, 2:]) > 0.9, [[1.0, 0.0, 0.0]], [[0.0, 0.0, 1.0]])
    lying = np.cross(e, sideways)
    lying /= np.linalg.norm(lying, axis=1)[:, None]
    axes = np.stack([lying, np.cross(e, lying)], axis=1)
    moment = np.einsum("bexc,bkx->bekc", force[:, :, 3:], axes)
    if np.abs(moment[:, :, 1]).max(initial=0.0) <= 1e-9 * np.abs(moment).max(initial=0.0):
        moment = moment[:, :, :1]  # a flat grid bends about one axis alone
    return Carried(axial, moment)


_COLUMNS = (
    "direction",
    "length_mm",
    "axial_n_per_mm",
    "bending_n_mm2",
    "torsion_n_mm",
    "spring_n_mm_per_rad",
)
