"""The team that builds, and the plan it gets."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    ByKey,
    Column,
    Fault,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)


class SnapSchema(InputSchema):
    """The seat as a snap: what bends aside, and over which wedge."""

    deflection_n = Num(
        "N", required=True, minimum=0, maximum=10_000, title="Force across that bends the seat open"
    )
    friction_ratio = Num("1", required=True, minimum=0, maximum=2, title="Friction, rod on seat")
    lead_angle_deg = Num("deg", required=True, minimum=0, maximum=89, title="Lead on the way in")
    return_angle_deg = Num("deg", minimum=0, maximum=90, title="Return angle on the way out")


class TeamSchema(InputSchema):
    """Who builds, how long a day is, and how finely the work is cut into steps."""

    people_count = Whole(minimum=1, maximum=20, load_default=2, title="People")
    learn_together = Flag(
        load_default=False,
        title="All learn from every bay",
        about="true: the curve runs over all bays begun; false: over those each has built.",
    )
    bays_before_count = Whole(
        minimum=0, maximum=100_000, load_default=0, title="Bays each has built before"
    )
    day_h = Num("h", minimum=0.25, maximum=16, load_default=6.0, title="A day, pauses included")
    pause_min = Num("min", minimum=0, maximum=120, load_default=5.0, title="One pause")
    pause_every_min = Num(
        "min",
        minimum=5,
        maximum=960,
        load_default=60.0,
        title="From pause to pause, pause included",
    )
    bays_per_step_count = Whole(minimum=1, maximum=50, load_default=6, title="Bays in a full step")
    dismantle_bay_min = Num(
        "min", minimum=0.01, maximum=10_000, load_default=2.0, title="Taking one bay apart"
    )
    snap = Part(SnapSchema, title="The seat as a snap")

    @validates_schema
    def _pause_leaves_work(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data.get("pause_min", 0) > data.get("pause_every_min", 1e9) / 2:
            detail = "A pause can take at most half of the time from pause to pause."
            raise ValidationError({"pause_min": [Fault("out-of-range", detail)]})


class StepOut(ResultSchema):
    """What is put up in one go by one person."""

    section = Key(title="Section")
    step = Whole(title="Number within the section")
    where = Text(longest=20_000, title="Where")
    bays_count = Num("1", title="Bays")
    hubs_count = Whole(title="Hubs")
    rods_count = Whole(title="Rods along the bays")
    diagonals_count = Whole(title="Diagonals")
    snaps_count = Whole(title="Rod ends to seat")
    hubs_done_count = Whole(title="Hubs of the section that then stand")
    rods_done_count = Whole(title="Rods of the section that then stand, diagonals included")
    parts = ByKey(Whole(), title="Parts to fetch")
    ladders_count = Whole(title="Flat ladders to make first")
    ladder_rods_count = Whole(title="Rods in the ladders")
    joining_rods_count = Whole(title="Rods that join ladders to each other and to what stands")
    waits_for = Column("1", whole=True, title="Steps of the section whose hubs it needs")
    steady = Flag(title="What then stands holds its shape")
    loose_ways_count = Whole(title="Ways in which it can change its shape, where known")
    boxes_mm = Column("mm", width=6, title="Its bays: lowest and highest corner")
    person = Whole(title="Who builds it")
    start_min = Num("min", title="Begun, in minutes of work")
    end_min = Num("min", title="Done, in minutes of work")
    day = Whole(title="Day on which it is done")


class PlanSectionOut(ResultSchema):
    """One section in the order of building."""

    section = Key(title="Section")
    twin_of = Key(title="Section of the same shape built before it")
    steps_count = Whole(title="Steps")
    bays_count = Num("1", title="Bays")
    bags_count = Whole(title="Bags")
    bags_fewest_count = Whole(title="No fewer bags will do")
    steady = Flag(title="Every step leaves it holding its shape")
    person_h = Num("h", title="Work of all people on it")
    start_min = Num("min", title="Begun, in minutes of work")
    end_min = Num("min", title="Done, in minutes of work")


class BagOut(ResultSchema):
    """One bag."""

    label = Text(longest=200_000, title="What to write on it")
    section = Key(title="Section")
    steps = Column("1", whole=True, title="Steps it serves")
    parts = ByKey(Whole(), title="Parts in it")
    pieces_count = Whole(title="Pieces in it")
    full_ratio = Num("1", title="How full it is")
    mass_kg = Num("kg", title="Mass")


class BesideOut(ResultSchema):
    """Parts that belong to no step: couplings, accessories, pairs in line."""

    item = Key(title="Part")
    count = Whole(title="Pieces beside the steps")
    replaced_count = Whole(title="Of those in the steps, replaced by pairs in line")
    bags_count = Whole(title="Bags of their own")


class PersonOut(ResultSchema):
    """One person's share."""

    person = Whole(title="Number")
    steps_count = Whole(title="Steps")
    bays_count = Num("1", title="Bays")
    snaps_count = Whole(title="Rod ends seated")
    work_min = Num("min", title="Work")
    most_snaps_a_day_count = Whole(title="Most rod ends on one day")


class DayOut(ResultSchema):
    """One day of building."""

    day = Whole(title="Number")
    steps_done_count = Whole(title="Steps finished on it")
    done_ratio = Num("1", title="Steps finished by its end, of all")
    sections_done = Text(longest=100_000, title="Sections finished on it")


class ThumbsOut(ResultSchema):
    """What the snaps ask of hands."""

    snaps_per_h = Num("1/h", title="Rod ends a person and hour of work")
    quickest_per_min = Num("/min", title="Rod ends a minute in the quickest step")
    repetition = Text(title="Repetition: low, moderate or high")
    repetition_points = Num("1", title="Points for it")
    stretch_min = Num("min", title="Longest work without a pause")
    pause_points = Num("1", title="Points for it")
    push_n = Num("N", title="Push to seat one rod end")
    pull_n = Num("N", title="Pull to take it out again")
    locks = Flag(title="No pull takes it out: the seat must be opened")


class DismantlingOut(ResultSchema):
    """Taking everything apart again, the last step first."""

    person_h = Num("h", title="Work of all people")
    elapsed_h = Num("h", title="From begin to end, pauses left out")
    present_h = Num("h", title="The same with pauses, nights left out")
    days_count = Whole(title="Days")


class CheckOut(ResultSchema):
    """Something to measure before going on."""

    section = Key(title="Section")
    after_step = Whole(title="After step")
    what = Text(longest=500, title="What to do")
    diagonal_mm = Num("mm", title="Both diagonals between hub centres")
    equal_within_mm = Num("mm", title="Difference that play explains")


class BuildPlanOut(ResultSchema):
    """Steps, bags, hours, days, hands."""

    steps_count = Whole(title="Steps")
    snaps_count = Whole(title="Rod ends of all steps")
    bags_count = Whole(title="Bags of all steps")
    sections = ListOf(PlanSectionOut, title="Sections in the order of building")
    steps = ListOf(StepOut, title="Steps in the order of building")
    bags = ListOf(BagOut, title="Bags")
    beside = ListOf(BesideOut, title="Parts that belong to no step")
    checks = ListOf(CheckOut, title="Checks on the way")
    people_count = Whole(title="People")
    enough_people_count = Whole(title="So many would be done nearly as soon")
    person_h = Num("h", title="Work of all people")
    elapsed_h = Num("h", title="From begin to end, pauses left out")
    elapsed_bound_h = Num("h", title="No sharing out is quicker")
    elapsed_proven = Flag(title="This one is the quickest")
    present_h = Num("h", title="From begin to end with pauses, nights left out")
    day_work_min = Num("min", title="Work in one day, pauses left out")
    days_count = Whole(title="Days")
    people = ListOf(PersonOut, title="People")
    calendar = ListOf(DayOut, title="Days; the first 366 at most")
    thumbs = Part(ThumbsOut, title="Hands")
    dismantling = Part(DismantlingOut, title="Taking apart")
