"""Torque at the head shaft, the window for a fuse, what holds when power fails."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class WeakPoint:
    """Something that breaks, as the torque at the head shaft that breaks it, N m."""

    name: str
    torque_n_m: float


@dataclass(frozen=True)
class Window:
    """Torques in N m between which a fuse or clutch must slip; closed where low > high."""

    low_n_m: float
    high_n_m: float
    weakest: str

    @property
    def is_open(self) -> bool:
        return self.low_n_m <= self.high_n_m

    @property
    def setting_n_m(self) -> float:
        """The middle: it leaves a fuse that scatters the same room on both sides."""
        return (self.low_n_m + self.high_n_m) / 2.0

    @property
    def tolerance_ratio(self) -> float:
        """Plus-minus share by which a fuse at the best setting may scatter and stay inside.

        s (1 - t) = low and s (1 + t) = high.
        """
        return (self.high_n_m - self.low_n_m) / (self.high_n_m + self.low_n_m)


def window(needed_n_m: float, weak: Sequence[WeakPoint], margin: float) -> Window | None:
    """From the torque needed to the weakest point over `margin`; None where none is given."""
    if not weak:
        return None
    least = min(weak, key=lambda point: point.torque_n_m)
    return Window(needed_n_m, least.torque_n_m / margin, least.name)


def reverse_efficiency(efficiency: float) -> float:
    """Share of the load's torque that still drives the shaft backwards: max(0, 2 - 1/eta).

    At 0.5 or less the drive's own friction holds the load. The loss is taken as the same in
    both directions.
    Source: self-locking drives, any handbook of machine elements (from memory).

    >>> reverse_efficiency(0.5), reverse_efficiency(0.8)
    (0.0, 0.75)
    """
    return max(0.0, 2.0 - 1.0 / efficiency)


def jam_force(torque_n_m: float, diameter_mm: float) -> float:
    """Pull of the chain in N when the head shaft delivers a torque: 2 M / D."""
    return 2000.0 * torque_n_m / diameter_mm
