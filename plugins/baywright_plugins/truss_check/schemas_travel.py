"""What truss-check takes and gives about a machine that travels and stands among people."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    ByKey,
    Choice,
    Column,
    Fault,
    Flag,
    InputSchema,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

from .kerb import WAYS
from .leaning import BARRIER_LOADS, FACES, HIGHEST_MM
from .load_factors import DEFAULT, SETS
from .resting import RESTING_IDS


def _place() -> Column:
    return Column(
        "1", whole=True, minimum=0, maximum=400, fewest=3, most=3, title="Grid place [i, j, k]"
    )


class BallLoadSchema(InputSchema):
    """Balls in the standing machine: their mass, or how many of which mass."""

    sections = Names(fewest=1, most=60, title="Sections that hold them, this much each; else all")
    mass_kg = Num("kg", above=0, maximum=1e5, title="Mass of all balls in one section")
    balls_count = Whole(minimum=1, maximum=1_000_000, title="Balls in one section")
    ball_mass_kg = Num("kg", above=0, maximum=1000, title="Mass of one ball")
    levels = Column(
        "1", whole=True, minimum=-400, maximum=400, fewest=1, most=400,
        title="Grid levels they lie on, evenly; -1 is the top; left out: all",
    )  # fmt: skip

    @validates_schema
    def _mass_or_count(self, data: dict[str, Any], **kwargs: Any) -> None:
        counted = "balls_count" in data and "ball_mass_kg" in data
        if ("mass_kg" in data) == counted:
            fault = Fault("missing", "Give mass_kg, or balls_count with ball_mass_kg.")
            raise ValidationError({"mass_kg": [fault]})


class DropSchema(InputSchema):
    """Set down hard onto its feet."""

    height_mm = Num("mm", required=True, minimum=0, maximum=10_000, title="Clear fall")
    foot_stiffness_min_n_per_mm = Num(
        "N/mm", required=True, minimum=0.01, maximum=1e6, title="One foot at its softest"
    )
    foot_stiffness_max_n_per_mm = Num(
        "N/mm", required=True, minimum=0.01, maximum=1e6, title="One foot at its hardest"
    )

    @validates_schema
    def _in_order(self, data: dict[str, Any], **kwargs: Any) -> None:
        low = data.get("foot_stiffness_min_n_per_mm", 0.0)
        if data.get("foot_stiffness_max_n_per_mm", low) < low:
            fault = Fault("out-of-range", "Must be at least foot_stiffness_min_n_per_mm.")
            raise ValidationError({"foot_stiffness_max_n_per_mm": [fault]})


class ThresholdSchema(InputSchema):
    """Rolled over a threshold on castors under its feet."""

    wheel_radius_mm = Num("mm", required=True, minimum=1, maximum=1000, title="Radius of castors")
    step_mm = Num("mm", required=True, above=0, maximum=1000, title="Height of the threshold")
    toward = ListOf(
        Choice(*WAYS), fewest=1, most=len(WAYS), title="Ways it is pushed; left out: all four"
    )
    push_level = Whole(
        minimum=0, maximum=400,
        title="Grid level of the hands; left out: the highest from which it holds",
    )  # fmt: skip


class LeaningSchema(InputSchema):
    """People lean on the standing section."""

    category = Choice(
        *(one.id for one in BARRIER_LOADS),
        title="Class of barrier, for a line load",
        about="; ".join(f"{o.id}: {o.title}, {o.line_load_n_per_mm:g} kN/m" for o in BARRIER_LOADS),
    )
    line_load_n_per_mm = Num(
        "N/mm", above=0, maximum=100, title="Line load of one's own; 1 N/mm is 1 kN/m"
    )
    person_n = Num("N", above=0, maximum=1e5, title="Push of one person, 300 to 1000 is usual")
    height_mm = Num(
        "mm", minimum=0, maximum=10_000, load_default=HIGHEST_MM, title="Where they lean"
    )
    faces = ListOf(Choice(*FACES), fewest=1, most=4, title="Faces leaned on; left out: all four")
    guarded = Flag(
        load_default=False,
        title="A rail, rope or wall keeps people off",
        about="What the section itself bears is then told as a thing to watch, not to stop at.",
    )

    @validates_schema
    def _some_load(self, data: dict[str, Any], **kwargs: Any) -> None:
        if "category" in data and "line_load_n_per_mm" in data:
            fault = Fault("not-unique", "Give a category or a line load of your own, not both.")
            raise ValidationError({"line_load_n_per_mm": [fault]})
        if not {"category", "line_load_n_per_mm", "person_n"} & set(data):
            fault = Fault("missing", "Give person_n, category or line_load_n_per_mm.")
            raise ValidationError({"person_n": [fault]})


class TravelSchema(InputSchema):
    """What happens to a machine on the way and among people; each part adds load cases."""

    ball_loads = ListOf(BallLoadSchema, fewest=1, most=60, title="Balls in the standing machine")
    resting = ListOf(
        Choice(*RESTING_IDS), fewest=1, most=len(RESTING_IDS), title="Laid down on the floor"
    )
    grips = ByKey(
        ListOf(ListOf(_place(), fewest=1, most=60), fewest=2, most=24),
        most=60,
        title="Where hands take hold, by section",
        about="Each grip is a list of hubs [i, j, k]. They carry upright and upside down, and one "
        "of them lets go. Left out: the ring of four hubs of each corner column.",
    )
    drop = Part(DropSchema, title="Set down hard")
    threshold = Part(ThresholdSchema, title="Rolled over a threshold")
    leaning = Part(LeaningSchema, title="Leaned on")


class PartialFactorsSchema(InputSchema):
    """A named set of factors; single numbers of it may be replaced."""

    set = Choice(
        *SETS, load_default=DEFAULT, title="Named set",
        about=" ".join(f"{one.id}: {one.why}" for one in SETS.values()),
    )  # fmt: skip
    permanent_ratio = Num("1", minimum=0.1, maximum=10, title="On self weight, planned cases")
    variable_ratio = Num("1", minimum=0.1, maximum=10, title="On other loads, planned cases")
    accidental_ratio = Num("1", minimum=0.1, maximum=10, title="On all loads of mishaps")
    required_planned_ratio = Num("1", minimum=0.1, maximum=100, title="Wanted, planned cases")
    required_accidental_ratio = Num("1", minimum=0.1, maximum=100, title="Wanted, mishaps")


class PartialFactorsResultSchema(ResultSchema):
    """The factors that were used."""

    set = Text(title="Named set")
    permanent_ratio = Num("1", title="On self weight, planned cases")
    variable_ratio = Num("1", title="On other loads, planned cases")
    accidental_ratio = Num("1", title="On all loads of mishaps")
    required_planned_ratio = Num("1", title="First-slip factor wanted, planned cases")
    required_accidental_ratio = Num("1", title="First-slip factor wanted, mishaps")
    why = Text(title="Where they come from")


class FallSchema(ResultSchema):
    """One end of the range."""

    case = Text(title="Its load case, where it has one")
    foot_stiffness_n_per_mm = Num("N/mm", title="One foot")
    frame_gives = Flag(title="The frame's own give counts")
    sink_at_rest_mm = Num("mm", title="How far it sinks under its weight")
    dynamic_factor = Num("1", title="Weight is multiplied by")
    first_slip_factor = Num("1", title="Load multiplier at first slip after the fall")
    first_slip_height_mm = Num(
        "mm", title="Fall at which the first seat slips; absent: setting down does"
    )


class DropResultSchema(ResultSchema):
    height_mm = Num("mm", title="Clear fall")
    falls = ListOf(FallSchema, title="Hard and soft feet, frame rigid and giving; worst first")
    first_slip_height_min_mm = Num("mm", title="First seat slips, at worst; 0: by setting down")
    first_slip_height_max_mm = Num("mm", title="First seat slips, at best")


class RolledSchema(ResultSchema):
    """One way over the threshold."""

    toward = Text(title="Way")
    push_level = Whole(title="Grid level of the hands")
    push_height_mm = Num("mm", title="Hands above the axles")
    push_n = Num("N", title="Push, dynamic factor included")
    first_slip_factor = Num("1", title="Load multiplier at first slip")
    reason = Text(title="Why it cannot be rolled this way")


class ThresholdResultSchema(ResultSchema):
    push_ratio = Num("1", title="Push over the load of the leading wheels")
    ways = ListOf(RolledSchema)


class LeanedSchema(ResultSchema):
    """The worst face for one load."""

    case = Text(title="Its load case")
    face = Text(title="Face that is worst")
    load_n = Num("N", title="Load in all")
    height_mm = Num("mm", title="Where it acts; the top, where the section is lower")
    first_slip_factor = Num("1", title="Load multiplier at first slip, feet tied down")
    tips_at_n = Num("N", title="The section by itself tips at this load")
    slips_at_n = Num("N", title="Tied down, the first seat slips at this load beside its weight")


class LeaningResultSchema(ResultSchema):
    pushes = ListOf(LeanedSchema, title="Line load and person")
    source = Text(title="Where the line load comes from")


class TravelResultSchema(ResultSchema):
    """Answers beside the load cases."""

    drop = Part(DropResultSchema)
    threshold = Part(ThresholdResultSchema)
    leaning = Part(LeaningResultSchema)
