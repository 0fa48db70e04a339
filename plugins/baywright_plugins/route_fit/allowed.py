"""What hands and lifting leave of an opening."""

from ..grid_fit.route import Clearances
from .passage import Doorway


def room(doorway: Doorway, clearances: Clearances) -> tuple[float, float]:
    """Width and height that hands and lifting leave of an opening.

        width - 2 x each side,  height - above - the greater of lifted and threshold

    Source: common practice, no source; as in grid-fit.
    """
    lifted = max(clearances.lifted_mm, doorway.threshold_mm)
    return (
        doorway.width_mm - 2 * clearances.each_side_mm,
        doorway.height_mm - clearances.above_mm - lifted,
    )
