"""What goes in, with units and bounds."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Fault,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Num,
    Part,
    Text,
    Whole,
)

KINDS = (
    "run",
    "ball_clearance",
    "hook_reach",
    "drop_limit",
    "module_step",
    "lift",
    "gap",
    "door",
    "equal",
)
RULES = ("exactly", "at-least", "at-most")
OBJECTIVES = ("most-slack", "lowest", "highest")
MOST_WISHES = 50
_HIGH_MM = 100_000.0


def _fault(code: str, detail: str) -> list[Any]:
    return [Fault(code, detail)]


def _height(title: str, **options: Any) -> Num:
    return Num("mm", minimum=-_HIGH_MM, maximum=_HIGH_MM, title=title, **options)


def _length(title: str, **options: Any) -> Num:
    return Num("mm", minimum=0, maximum=_HIGH_MM, title=title, **options)


def _one_given(data: dict[str, Any], low: str, high: str) -> None:
    """At least one of two ends, and in order."""
    if low not in data and high not in data:
        raise ValidationError({low: _fault("missing", f"Give {low}, {high} or both.")})
    _in_order(data, low, high)


def _in_order(data: dict[str, Any], low: str, high: str) -> None:
    if low in data and high in data and data[high] < data[low]:
        raise ValidationError({high: _fault("out-of-range", f"Must be at least {low}.")})


class Grid(InputSchema):
    module_mm = Num("mm", required=True, minimum=1, maximum=10_000, title="Module", example=60)
    first_plane_mm = _height("First node plane above the hall floor", load_default=0.0, example=42)


class Level(InputSchema):
    id = Key(required=True, title="Name of the level", example="play-floor")
    title = Text(shortest=1, longest=120, title="What the builder calls it", example="Play floor")
    snapped = Flag(
        title="Lies on a plane of the grid",
        about="Left out: yes where a grid is given. A free level may have any height.",
    )
    offset_mm = _height(
        "How far it lies above its node plane",
        load_default=0.0,
        about="Such as a sprocket axis beside the hub, or the upper side of a board.",
    )
    pinned_mm = _height("Height that is fixed already")
    at_least_mm = _height("Lowest height")
    at_most_mm = _height("Greatest height")


class Run(InputSchema):
    length_mm = Num(
        "mm", above=0, maximum=1_000_000, title="Length of the way, along the plan of the track"
    )
    slope_min_percent = Num("%", minimum=0, maximum=100, title="Least slope", example=4)
    slope_max_percent = Num("%", minimum=0, maximum=100, title="Steepest slope")
    fall_min_mm = _length("Least fall", about="In place of length and slopes.")
    fall_max_mm = _length("Greatest fall")

    @validates_schema
    def _one_way_of_saying_it(self, data: dict[str, Any], **kwargs: Any) -> None:
        falls = "fall_min_mm" in data or "fall_max_mm" in data
        slopes = "slope_min_percent" in data or "slope_max_percent" in data
        if falls and slopes:
            detail = "Give slopes with length_mm, or falls: one of the two."
            raise ValidationError({"fall_min_mm": _fault("not-unique", detail)})
        if slopes and "length_mm" not in data:
            raise ValidationError({"length_mm": _fault("missing", "Slopes need a length.")})
        if falls:
            _one_given(data, "fall_min_mm", "fall_max_mm")
        else:
            _one_given(data, "slope_min_percent", "slope_max_percent")


class BallClearance(InputSchema):
    ball_diameter_mm = Num("mm", required=True, minimum=1, maximum=500, title="Ball diameter")
    margin_mm = _length("Room above the ball", load_default=0.0)
    thickness_mm = _length(
        "What else stands between the two levels", load_default=0.0, about="Such as a feature."
    )


class HookReach(InputSchema):
    reach_min_mm = _length("Least reach", load_default=0.0)
    reach_max_mm = _length("Greatest reach", required=True)

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        _in_order(data, "reach_min_mm", "reach_max_mm")


class DropLimit(InputSchema):
    drop_max_mm = _length("Greatest drop", required=True)
    drop_min_mm = _length("Least drop", load_default=0.0)

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        _in_order(data, "drop_min_mm", "drop_max_mm")


class ModuleStep(InputSchema):
    modules_count = Whole(required=True, minimum=0, maximum=10_000, title="Modules")
    rule = Choice(*RULES, load_default="at-least", title="Exactly, at least or at most so many")


class Lift(InputSchema):
    rise_min_mm = _length("Least rise")
    rise_max_mm = _length("Greatest rise")

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        _one_given(data, "rise_min_mm", "rise_max_mm")


class Gap(InputSchema):
    gap_min_mm = _height("Least distance", about="Negative: it may lie so far below.")
    gap_max_mm = _height("Greatest distance")

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        _one_given(data, "gap_min_mm", "gap_max_mm")


class Door(InputSchema):
    door_height_mm = Num("mm", required=True, minimum=1, maximum=20_000, title="Clear height")
    clearance_mm = _length(
        "Clearance above", load_default=15.0, about="Common practice, no source."
    )
    trolley_mm = _length("Height of the trolley it stands on", load_default=0.0)
    lifted_mm = _length("How far it is lifted off the floor", load_default=0.0)
    threshold_mm = _length("Height of the threshold", load_default=0.0)


class Equal(InputSchema):
    difference_mm = _height("By how much it lies above, exactly", load_default=0.0)


class Requirement(InputSchema):
    id = Key(required=True, title="Name of the requirement", example="long-track")
    title = Text(shortest=1, longest=200, title="In the builder's words", example="The long track")
    below = Key(title="The level below", about="Left out: the hall floor. A door takes none.")
    above = Key(required=True, title="The level above")
    wish = Flag(
        load_default=False,
        title="Only a wish",
        about="Tried after everything that must hold, in the order given; kept if it can be had.",
    )
    fixed = Flag(
        load_default=False,
        title="Cannot give",
        about="No remedy proposes to change it.",
    )
    run = Part(Run, title="A ball runs from the level above to the one below")
    ball_clearance = Part(BallClearance, title="A ball passes between the two")
    hook_reach = Part(HookReach, title="A hook reaches from one to the other")
    drop_limit = Part(DropLimit, title="A ball falls from the level above onto the one below")
    module_step = Part(ModuleStep, title="So many modules of the grid")
    lift = Part(Lift, title="A lift rises from one to the other")
    gap = Part(Gap, title="Any other least or greatest distance")
    door = Part(Door, title="The level above passes under a door")
    equal = Part(Equal, title="The two are tied together")

    @validates_schema
    def _one_kind(self, data: dict[str, Any], **kwargs: Any) -> None:
        given = [kind for kind in KINDS if kind in data]
        if len(given) != 1:
            code = "not-unique" if given else "missing"
            place = given[1] if given else "gap"
            detail = f"Give exactly one of: {', '.join(KINDS)}."
            raise ValidationError({place: _fault(code, detail)})
        if data.get("below") == data.get("above"):
            raise ValidationError({"below": _fault("out-of-range", "The same level as above.")})
        if "door" in data and "below" in data:
            detail = "A door stands on the hall floor: leave this out."
            raise ValidationError({"below": _fault("out-of-range", detail)})


class HeightOf(InputSchema):
    level = Key(required=True, title="Level")
    at_mm = _height("Height above the hall floor", required=True)


class LevelWindowsInputs(InputSchema):
    levels = ListOf(Level, required=True, fewest=1, most=200, distinct="id", title="Levels")
    grid = Part(Grid, title="The module grid", about="Left out: every level is free.")
    requirements = ListOf(
        Requirement,
        load_default=list,
        most=2000,
        distinct="id",
        title="What must hold between levels",
    )
    pins = ListOf(
        HeightOf,
        load_default=list,
        most=200,
        distinct="level",
        title="What if these levels were pinned",
    )
    proposal = ListOf(
        HeightOf,
        load_default=list,
        most=200,
        distinct="level",
        title="Heights you have in mind, to be checked",
    )
    objective = Choice(
        *OBJECTIVES, load_default="most-slack", title="Which of the possible heights to take"
    )
    slack_wanted_mm = Num(
        "mm",
        minimum=0,
        maximum=_HIGH_MM,
        title="Slack worth having",
        about="More does not count in the total. Left out: one module.",
    )

    @validates_schema(skip_on_field_errors=True)
    def _references(self, data: dict[str, Any], **kwargs: Any) -> None:
        known = {level["id"] for level in data["levels"]}
        faults: dict[str, Any] = {}
        for name, keys in (
            ("requirements", ("below", "above")),
            ("pins", ("level",)),
            ("proposal", ("level",)),
        ):
            for k, item in enumerate(data[name]):
                for key in keys:
                    if key in item and item[key] not in known:
                        detail = f"No level is called “{item[key]}”."
                        place = faults.setdefault(name, {}).setdefault(k, {})
                        place[key] = _fault("unknown-reference", detail)
        if faults:
            raise ValidationError(faults)

    @validates_schema(skip_on_field_errors=True)
    def _grid_where_needed(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        if "grid" not in data:
            if any(level.get("snapped", False) for level in data["levels"]):
                faults["grid"] = _fault("missing", "Snapped levels need a grid.")
            elif any("module_step" in item for item in data["requirements"]):
                faults["grid"] = _fault("missing", "Steps of modules need a grid.")
        if sum(item["wish"] for item in data["requirements"]) > MOST_WISHES:
            faults["requirements"] = _fault("too-many", f"At most {MOST_WISHES} may be wishes.")
        if faults:
            raise ValidationError(faults)
