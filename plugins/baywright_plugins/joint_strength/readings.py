"""What a scale said, in newtons, and which readings are strengths."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

Array = np.ndarray[Any, np.dtype[np.float64]]

STANDARD_KGF_N = 9.80665
#: One avoirdupois pound in kilograms, exact (international yard and pound agreement, 1959).
POUND_KG = 0.45359237
UNITS = ("kgf", "lbf", "N")


def newtons_per_unit(unit: str, *, kgf_n: float = STANDARD_KGF_N) -> float:
    """Newtons in one unit of a scale.

    Args:
        unit: "kgf" (a scale marked kg), "lbf" (a scale marked lb) or "N".
        kgf_n: newtons in one kilogram-force; a scale marked in lb shows the same mass, so this
            number sets both.

    Source: 1 kgf = 9.80665 N by definition (3rd CGPM 1901; NIST SP 811, B.8).

    >>> round(newtons_per_unit("lbf"), 6)
    4.448222
    """
    return {"N": 1.0, "kgf": kgf_n, "lbf": POUND_KG * kgf_n}[unit]


@dataclass(frozen=True)
class Sample:
    """Pull tests in newtons, weakest first.

    Attributes:
        force_n: shape (n,), ascending; among equal forces those that gave way come first.
        gave_way: shape (n,), True where the seat slipped at that force (a strength), False where
            the joint held it (a proof value: the strength is larger, by how much is not known).
        place: shape (n,), place of each in the series it came from.
        series: shape (n,), 0 for a reading, 1 for a proof load.
    """

    force_n: Array
    gave_way: np.ndarray[Any, np.dtype[np.bool_]]
    place: np.ndarray[Any, np.dtype[np.int64]]
    series: np.ndarray[Any, np.dtype[np.int64]]

    @property
    def strengths_n(self) -> Array:
        """Forces at which a joint gave way, ascending."""
        return np.asarray(self.force_n[self.gave_way])

    @property
    def proofs_n(self) -> Array:
        """Forces that a joint held, ascending."""
        return np.asarray(self.force_n[~self.gave_way])


def sample_of(
    readings: Sequence[float] | Array,
    *,
    newtons_each: float,
    scale_limit: float | None = None,
    proofs: Sequence[float] | Array = (),
) -> Sample:
    """Readings and proof loads as one sample.

    Args:
        readings: what the scale showed, in its unit.
        newtons_each: newtons in one unit.
        scale_limit: the most the scale can show; a reading there is a proof value.
        proofs: loads that a joint held when the pull was stopped, in the same unit.
    """
    shown = np.asarray(readings, dtype=np.float64)
    held = np.asarray(proofs, dtype=np.float64)
    below = shown < scale_limit if scale_limit is not None else np.ones(shown.shape, dtype=bool)
    force = np.concatenate([shown, held])
    gave_way = np.concatenate([below, np.zeros(held.shape, dtype=bool)])
    place = np.concatenate([np.arange(len(shown)), np.arange(len(held))])
    series = np.concatenate(
        [np.zeros(len(shown), dtype=np.int64), np.ones(len(held), dtype=np.int64)]
    )
    order = np.lexsort((place, ~gave_way, force))
    return Sample(force[order] * newtons_each, gave_way[order], place[order], series[order])
