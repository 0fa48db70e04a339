"""Packing of sections and boxes into a vehicle: an optional part of a route.

`VehicleSchema` is the input, `VehicleOut` the record that `vehicle_answers` gives with its
findings, `draw_vehicle` its picture.
"""

from baywright_service.contract import Source

from .answers import vehicle_answers
from .cargo import Cargo
from .drawing import draw_vehicle
from .schemas import VehicleOut, VehicleSchema
from .solve import EXACT_UP_TO

VEHICLE_VIEW = "The loaded vehicle from above and from the side, with the order of loading"

VEHICLE_SOURCES = (
    Source(
        "EN 12195-1:2010, Load restraining on road vehicles, Safety, Part 1",
        "section 4, acceleration coefficients: 0.8 forward, 0.5 sideways and rearward, 0.6 "
        "sideways for what may tip; section 5, stability",
    ),
    Source(
        "S. P. Fekete, J. Schepers, A general framework for bounds for higher-dimensional "
        "orthogonal packing problems, Mathematical Methods of Operations Research 60 (2004)",
        "dual feasible functions",
    ),
    Source(
        "Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms",
        "difference constraints and shortest paths",
    ),
)

VEHICLE_CAUTIONS = (
    "Secure the load: it must hold 0.8 of its weight forwards and 0.5 of its weight sideways and "
    "rearwards, 0.6 sideways where it may tip (EN 12195-1, written for vehicles above 3.5 t; "
    "lighter ones see more). A packing that fits is not a load that is secured.",
    "Measure the load bay and its door at their narrowest, between the wheel arches too.",
)

VEHICLE_ASSUMPTIONS = (
    "In the vehicle everything is a box with sides along the bay, over what sticks out; each thing "
    "stands on the floor, on one wheel arch that bears, or with its whole underside on things of "
    "one height; a load on several of them is counted in full on each.",
    "A thing passes the door as it travels and is pushed straight forward; shifting it sideways or "
    "lifting it just behind the door, and past wheel arches, is taken to be possible.",
    f"Up to {EXACT_UP_TO} things the search covers every arrangement unless it says it gave up; "
    "beyond, a quick search is held against a bound.",
)

__all__ = [
    "VEHICLE_ASSUMPTIONS",
    "VEHICLE_CAUTIONS",
    "VEHICLE_SOURCES",
    "VEHICLE_VIEW",
    "Cargo",
    "VehicleOut",
    "VehicleSchema",
    "draw_vehicle",
    "vehicle_answers",
]
