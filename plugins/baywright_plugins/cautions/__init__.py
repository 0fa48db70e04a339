"""Warnings as data, each with where it is written down, and the rules that say when they apply.

Calculators attach what their inputs call for to `Result.cautions`. The distances are limits of
published standards, not proof of safety.
"""

from .guarding import (
    CHILD,
    GROWN,
    OPENINGS,
    DriveGuard,
    crushing_gap_mm,
    drive_cautions,
    pinches,
    reach_through_mm,
)
from .handling import ALONE_KG, MANY_SNAPS, lifting_cautions, section_cautions, snapping_cautions
from .reach import REACH_HIGH_MM, REACH_LOW_MM, reach_cautions, within_reach
from .small_balls import SMALL_BALL_MM, SMALL_PART_MM, ball_cautions, is_small_ball, is_small_part

PLANNING_AID = (
    "Planning aid, not a safety certificate: follow local rules and let a competent or licensed "
    "person decide."
)

__all__ = [
    "ALONE_KG",
    "CHILD",
    "GROWN",
    "MANY_SNAPS",
    "OPENINGS",
    "PLANNING_AID",
    "REACH_HIGH_MM",
    "REACH_LOW_MM",
    "SMALL_BALL_MM",
    "SMALL_PART_MM",
    "DriveGuard",
    "ball_cautions",
    "crushing_gap_mm",
    "drive_cautions",
    "is_small_ball",
    "is_small_part",
    "lifting_cautions",
    "pinches",
    "reach_cautions",
    "reach_through_mm",
    "section_cautions",
    "snapping_cautions",
    "within_reach",
]
