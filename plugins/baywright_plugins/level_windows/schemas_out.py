"""What comes out, with units."""

from baywright_service.contract import Flag, Key, ListOf, Num, Part, ResultSchema, Text, Whole


def _mm(title: str, about: str = "") -> Num:
    return Num("mm", title=title, about=about)


class LevelOut(ResultSchema):
    id = Key(title="Level")
    title = Text(title="What the builder calls it")
    snapped = Flag(title="Lies on the grid")
    low_mm = _mm("Lowest possible height", "Left out: nothing holds it up.")
    high_mm = _mm("Greatest possible height", "Left out: nothing holds it down.")
    choices_count = Whole(title="Heights of the grid to choose from")
    free_low_mm = _mm("Lowest possible height if nothing had to lie on the grid")
    free_high_mm = _mm("Greatest possible height if nothing had to lie on the grid")
    loss_low_mm = _mm("How far the grid raises the lowest height")
    loss_high_mm = _mm("How far the grid lowers the greatest height")
    before_pins_low_mm = _mm("Lowest possible height without the what-if pins")
    before_pins_high_mm = _mm("Greatest possible height without the what-if pins")
    height_mm = _mm("Height taken")
    plane_count = Whole(title="Planes above the first node plane")


class RequirementOut(ResultSchema):
    id = Key(title="Requirement")
    title = Text(title="In the builder's words")
    below = Key(title="The level below", about="Left out: the hall floor.")
    above = Key(title="The level above")
    least_mm = _mm("Least distance asked")
    most_mm = _mm("Greatest distance asked")
    distance_mm = _mm("Distance at the heights taken")
    slack_mm = _mm("What is left to the nearer end")
    kept = Flag(title="Kept: not a denied wish")
    sets_top = Flag(title="On a chain that sets the lowest top")
    sets_bottom = Flag(title="On a chain that sets the highest bottom")


class DecisionOut(ResultSchema):
    level = Key(title="Level")
    title = Text(title="What the builder calls it")
    low_mm = _mm("Lowest possible height at that moment")
    high_mm = _mm("Greatest possible height at that moment")
    choices_count = Whole(title="Heights of the grid to choose from at that moment")
    height_mm = _mm("Height taken")
    narrowed_by = ListOf(Key(), title="Levels decided before that narrowed this window")
    low_set_by = ListOf(Text(), title="What holds it up at that moment")
    high_set_by = ListOf(Text(), title="What holds it down at that moment")
    reason = Text(title="Why it comes now")


class StepOut(ResultSchema):
    at = Text(title="Where it is asked: a place in the inputs")
    title = Text(title="In the builder's words")
    starts_at = Text(title="The level it starts from")
    leads_to = Text(title="The level it leads to")
    end = Text(title="Which end of its range: least or most")
    asks = Text(title="What it asks, in words")
    asked_mm = _mm("What it asks", "Negative: the second level may lie so far below the first.")
    lost_mm = _mm("Lost by rounding to the grid")
    reached_mm = _mm("Height it leads to")


class ChainOut(ResultSchema):
    level = Key(title="The level whose end it sets")
    height_mm = _mm("The end of its window")
    free_height_mm = _mm("The same if nothing had to lie on the grid")
    lost_mm = _mm("Lost by rounding, one of the tied ways added up")
    ways_count = Whole(title="Tied ways through these requirements")
    steps = ListOf(StepOut, title="Every requirement on any tied way, in order")
    one_way = ListOf(Text(), title="One of the tied ways, by place in the inputs")
    without_grid = ListOf(Text(), title="What sets it if nothing had to lie on the grid")


class ConflictMember(StepOut):
    give_mm = _mm("How far it must give for this to be cured")
    cures_all = Flag(title="With that, everything holds")


class RemedyOut(ResultSchema):
    at = Text(title="Which requirement, by place in the inputs")
    message = Text(title="What to change")
    field = Text(title="Field of the requirement")
    before = Num("1", title="As given, in the unit of the field")
    after = Num("1", title="Changed, in the unit of the field")
    proven = Flag(title="Calculated again with the change: cured")


class ConflictOut(ResultSchema):
    wish = Key(title="The wish that it denies", about="Left out: it lies in what must hold.")
    words = Text(title="In the builder's words")
    missing_mm = _mm("Millimetres missing")
    members_count = Whole(title="How many cannot hold together")
    starts_at = Text(title="The level the way round starts from and comes back to")
    members = ListOf(ConflictMember, title="They, in order of the way round")
    smallest = Flag(title="No smaller set conflicts, proven")
    because_of_grid = Flag(title="They would hold together without the grid")
    remedies = ListOf(RemedyOut, title="Changes of one requirement")


class Broken(ResultSchema):
    at = Text(title="Where it is asked")
    title = Text(title="In the builder's words")
    missing_mm = _mm("By how much it is broken")


class OffGrid(ResultSchema):
    level = Key(title="Level")
    plane_below_mm = _mm("Next height of the grid below")
    plane_above_mm = _mm("Next height of the grid above")


class ProposalOut(ResultSchema):
    holds = Flag(title="All that was checked holds")
    checked_count = Whole(title="What could be checked: both levels are given")
    least_slack_mm = _mm("Smallest slack")
    broken = ListOf(Broken, title="What is broken")
    off_grid = ListOf(OffGrid, title="Snapped levels that lie off the grid")


class LevelWindowsResult(ResultSchema):
    holds = Flag(title="Everything that must hold can hold, on the grid")
    holds_without_grid = Flag(title="The same if nothing had to lie on the grid")
    levels = ListOf(LevelOut, title="Levels")
    requirements = ListOf(RequirementOut, title="Requirements")
    top = Key(title="The topmost level")
    top_mm = _mm("Its lowest possible height")
    top_without_grid_mm = _mm("The same without the grid")
    loss_mm = _mm("Height lost by snapping, at the top")
    least_slack_mm = _mm("Smallest slack of the heights taken")
    total_slack_mm = _mm("All slacks added, each counted up to the limit")
    slack_counted_to_mm = _mm("The limit to which slack counts")
    most_slack_proven = Flag(title="No other heights keep more, proven")
    method = Text(title="How the heights were found")
    order = ListOf(DecisionOut, title="In which order to decide")
    lowest_top = Part(ChainOut, title="What sets the lowest top")
    highest_bottom = Part(ChainOut, title="What sets the highest bottom")
    conflicts = ListOf(ConflictOut, title="What cannot hold together")
    wishes_kept = ListOf(Key(), title="Wishes that can be had")
    wishes_denied = ListOf(Key(), title="Wishes that cannot")
    proposal = Part(ProposalOut, title="The heights you have in mind")
