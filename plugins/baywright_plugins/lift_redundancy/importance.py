"""Which part matters most: Birnbaum, criticality, Fussell-Vesely and what a perfect one gains."""

from dataclasses import dataclass
from typing import Any

import numpy as np

Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Importance:
    """Of one unit of a class. `birnbaum`: chance that all hangs on it; `criticality`: of the time
    short, the share in which mending it alone ends it; `fussell_vesely`: of the time short, the
    share in which it belongs to a minimal cut that is down; `gain`: time short, as a share of all
    time, saved if it never stopped; `gain_loss`: the same of a loss given for each state."""

    birnbaum: float
    criticality: float
    fussell_vesely: float
    gain: float
    gain_loss: float


def importances(
    stopped: Array, sizes: Array, up: Array, probability: Array, enough: Array, loss: Array
) -> list[Importance | None]:
    """Importance of one unit of each class, all repaired at once; None where it is always up or
    always down.

    Args:
        stopped: shape (states, classes); every state listed once.
        up: shape (classes,), availability of one unit.
        probability: shape (states,), independent units.
        enough: shape (states,); more stopped is never better.
        loss: shape (states,), such as balls short a minute.

    A minimal cut with the unit in it is down exactly where, without the unit, some subset of what
    is stopped is enough and the unit on top makes it short; subsets are a running "or" on the grid.

    Source: R. E. Barlow and F. Proschan, Statistical Theory of Reliability and Life Testing,
    section 2.2; Birnbaum (1969), Fussell and Vesely (MIL-HDBK-338B names them; from memory).
    """
    grid = tuple(stopped.T)
    works = np.zeros(tuple(sizes + 1), dtype=bool)
    works[grid] = enough
    chance = np.zeros(works.shape)
    chance[grid] = probability
    short = float(probability[~enough].sum())
    found: list[Importance | None] = []
    for c, share_up in enumerate(up.tolist()):
        if not 0.0 < share_up < 1.0:
            found.append(None)
            continue
        down = stopped[:, c] / sizes[c]
        when_up = probability * (1.0 - down) / share_up
        when_down = probability * down / (1.0 - share_up)
        birnbaum = float(when_up[enough].sum() - when_down[enough].sum())
        gain = birnbaum * (1.0 - share_up)
        without = np.take(works, range(int(sizes[c])), axis=c)
        on_top = np.take(works, range(1, int(sizes[c]) + 1), axis=c)
        critical = without & ~on_top
        for axis in range(critical.ndim):
            critical = np.logical_or.accumulate(critical, axis=axis)
        shape = [1] * works.ndim
        shape[c] = int(sizes[c])
        is_down = (np.arange(1, sizes[c] + 1) / sizes[c]).reshape(shape)
        held = np.take(chance, range(1, int(sizes[c]) + 1), axis=c) * is_down
        in_cut = float(held[critical].sum())
        found.append(
            Importance(
                birnbaum=birnbaum,
                criticality=min(gain / short, 1.0) if short > 0.0 else 0.0,
                fussell_vesely=min(in_cut / short, 1.0) if short > 0.0 else 0.0,
                gain=gain,
                gain_loss=float((probability * loss).sum() - (when_up * loss).sum()),
            )
        )
    return found
