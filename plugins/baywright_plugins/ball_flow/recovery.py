"""When a machine is back to usual after a stop.

Usual is what the runs without a stop do: never more balls in the lines than the most seen in any
of them, and never fewer balls past the entry in the time of one round than the fewest seen in any.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np

from .history import History
from .study import Study

#: Moments looked at in the time of one round.
_STEPS = 16


def back_to_usual(
    history: History, calm: Sequence[History], back_s: float, study: Study
) -> float | None:
    """Seconds from `back_s` on until all is usual; None: not in the time followed."""
    last = max(history.last_crowded_s or back_s, back_s)
    if last >= study.duration_s:
        return None
    slow = _last_slow(history, calm, study)
    if slow is None:
        return last - back_s
    if slow >= study.duration_s:
        return None
    return max(last, slow) - back_s


def _last_slow(history: History, calm: Sequence[History], study: Study) -> float | None:
    """The first moment after the last unusually slow one; the end, if slow there; None: never."""
    window, end = study.round_s, study.duration_s
    if study.machine.entry is None or window <= 0.0 or window >= end:
        return None
    moments = np.arange(1, int((end - window) * _STEPS / window) + 1) * (window / _STEPS) + window
    moments = moments[moments <= end]
    if not moments.size:
        return None
    fewest = min(int(_entered(run, moments, window).min()) for run in calm)
    slow = np.flatnonzero(_entered(history, moments, window) < fewest)
    if not slow.size:
        return None
    return end if slow[-1] + 1 == len(moments) else float(moments[slow[-1] + 1])


def _entered(
    history: History, moments: np.ndarray[Any, Any], window: float
) -> np.ndarray[Any, Any]:
    times = np.array(history.entered_s)
    counted: np.ndarray[Any, Any] = np.searchsorted(times, moments, side="right") - np.searchsorted(
        times, moments - window, side="right"
    )
    return counted
