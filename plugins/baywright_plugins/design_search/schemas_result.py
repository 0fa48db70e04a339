"""What design-search gives."""

from baywright_service.contract import (
    Anything,
    Column,
    Flag,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

from ..grid_fit.schemas import AxesCountOut, AxesMmOut


class ReasonOut(ResultSchema):
    """Why machines are out."""

    message = Text(title="Why, in one sentence")
    value = Num("1", title="The number that fails, in the unit beside it")
    limit = Num("1", title="Its limit")
    unit = Text(title="Unit of both (UCUM)")
    machines_count = Whole(title="Machines it removed")


class CheckOut(ResultSchema):
    """One check, in the order in which machines go through them."""

    check = Text(title="Check")
    title = Text(title="What it asks")
    looked_at_count = Whole(title="Machines that came to it")
    removed_count = Whole(title="Machines it removed")
    left_count = Whole(title="Machines left after it")
    reasons = ListOf(ReasonOut, title="Why, the commonest first")


class ObjectiveOut(ResultSchema):
    """One column of the comparison."""

    id = Text(title="Objective")
    title = Text(title="Title")
    field = Text(title="Its field in machines")
    unit = Text(title="Unit")
    more_is_better = Flag(title="More is better; else less")
    best = Num("1", title="Best value in the set")
    worst = Num("1", title="Worst value in the set")
    best_machine = Text(title="The machine that has the best")


class SectionOut(ResultSchema):
    """One section of a machine."""

    id = Text(title="Id")
    title = Text(title="Title")
    bays = Part(AxesCountOut, title="Bays")
    over_hubs_mm = Part(AxesMmOut, title="Size over the hub ends")
    strength_reserve_ratio = Num(
        "1", title="Least factor of first slip over what is wanted, this section"
    )
    worst_case = Text(title="The case that sets it")


class ChoiceOut(ResultSchema):
    """What was chosen."""

    bay_rods = Names(title="Rods of bays along x, y, z")
    split = Text(title="Split")
    bracing = Text(title="Way to brace")
    panel = Text(title="Floor panel; absent: no floor was asked for")
    lifts_count = Whole(title="Lifts; absent: none were asked for")


class ValuesOut(ResultSchema):
    """What a machine is compared by, as far as it is known."""

    pieces_count = Whole(title="Parts of every kind, built in")
    mass_kg = Num("kg", title="Mass with fittings")
    strength_reserve_ratio = Num("1", title="Least factor of first slip over what is wanted")
    build_hours_h = Num("h", title="Hours to build, with learning")
    to_buy_count = Whole(title="Pieces missing on the shelf; absent: no stock was given")


class MissingOut(ResultSchema):
    item = Text(title="Part")
    count = Whole(title="Pieces missing on the shelf")


class MachineOut(ValuesOut):
    """A machine that no other one beats."""

    id = Text(title="Name of the machine in this answer")
    number = Whole(title="Its number in the space")
    words = Text(title="The machine in one line")
    chosen = Part(ChoiceOut, title="What was chosen")
    sections = ListOf(SectionOut, title="Sections")
    length_mm = Num("mm", title="Length of the coupled machine over the hub ends")
    width_mm = Num("mm", title="Width")
    height_mm = Num("mm", title="Height of its tallest section")
    hubs_count = Whole(title="Hubs of the frame")
    rods_count = Whole(title="Rods, built in, accessories included")
    bays_count = Whole(title="Bays")
    panels_count = Whole(title="Floor panels, with those cut")
    to_buy = ListOf(MissingOut, title="What the shelf lacks")
    best_in = Names(title="Objectives in which no machine is better")
    plan = Anything(objects=True, title="The machine as a plan that runs as it is")


class ByObjectiveOut(ResultSchema):
    objective = Text(title="Objective")
    by = Num("1", title="How much worse, in its unit")


class LostOut(ValuesOut):
    """A machine that was worked out and is not in the set, and why. Where it is too weak, its
    reserve is that of one section that will not do."""

    id = Text(title="Name of the machine in this answer")
    number = Whole(title="Its number in the space")
    words = Text(title="The machine in one line")
    reason = Text(title="infeasible, dominated or alike")
    message = Text(title="Why, in one sentence")
    check = Text(title="The check it fails, where it is infeasible")
    value = Num("1", title="The number that fails")
    limit = Num("1", title="Its limit")
    unit = Text(title="Unit of both (UCUM)")
    beaten_by = Text(
        title="A machine of the set that beats it or is alike",
        about="Where it is not among machines, raise most_listed.",
    )
    worse_by = ListOf(ByObjectiveOut, title="How much worse it is in each objective")


class NearMissOut(ResultSchema):
    """A machine that would do if one check were relaxed."""

    check = Text(title="The check to relax")
    message = Text(title="Why it fails")
    value = Num("1", title="The number that fails")
    limit = Num("1", title="Its limit")
    unit = Text(title="Unit of both (UCUM)")
    words = Text(title="The machine in one line")
    advice = Text(title="What would admit it")
    plan = Anything(objects=True, title="That machine as a plan")


class SpaceOut(ResultSchema):
    """How much of the space was seen."""

    machines_count = Whole(title="Machines there are to choose from")
    pruned_count = Whole(title="Removed by the cheap checks")
    evaluated_count = Whole(title="Worked out to the end")
    feasible_count = Whole(title="Of these, machines that will do")
    unseen_count = Whole(title="Neither removed nor worked out")
    seen_ratio = Num("1", title="Share of all machines removed or worked out")
    exact = Flag(title="Every machine was removed or worked out: the set is complete")
    method = Text(title="complete enumeration or seeded search")
    stopped_by = Text(title="whole-space, seeded-search, most-evaluations or work-limit")
    seed = Whole(title="Seed")
    sections_checked_count = Whole(title="Shapes of sections whose strength was worked out")


class ScatterOut(ResultSchema):
    """The scatter picture's staircase: machines that no other beats in these two alone."""

    across = Text(title="Objective across")
    up = Text(title="Objective up")
    machines = Names(title="Machines on the staircase, from left to right")
    across_values = Column("1", title="Their values across")
    up_values = Column("1", title="Their values up")


class DesignSearchResult(ResultSchema):
    space = Part(SpaceOut, title="How much was seen")
    checks = ListOf(CheckOut, title="What each check removed, cheapest first")
    objectives = ListOf(ObjectiveOut, title="What machines are compared by")
    machines = ListOf(MachineOut, title="Machines that no other one beats")
    machines_left_out_count = Whole(title="More of these than most_listed")
    lost = ListOf(LostOut, most=2000, title="Machines worked out that are not in the set, and why")
    near_misses = ListOf(NearMissOut, title="Where nothing will do: what one relaxation admits")
    scatter = Part(ScatterOut, title="The scatter picture")
