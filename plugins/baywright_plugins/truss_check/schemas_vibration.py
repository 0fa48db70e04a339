"""What truss-check takes and gives about vibration."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    ByKey,
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


class ExcitationSchema(InputSchema):
    """What shakes the standing machine: a chain lift, and other sources by name."""

    hooks_per_min = Num("/min", above=0, maximum=1e5, title="Hooks of one lift that pass a place")
    links_per_hook_count = Num(
        "1", above=0, maximum=10_000, title="Chain links from one hook to the next"
    )
    teeth_count = Whole(minimum=3, maximum=1000, title="Teeth of the head sprocket")
    sources_hz = ByKey(
        Num("Hz", above=0, maximum=1e5), most=60, title="Other sources by name, as 2.1 for a drum"
    )
    apart_ratio = Num(
        "1", minimum=0, maximum=1, load_default=0.2,
        title="How far apart, as a share of the natural frequency",
    )  # fmt: skip
    sections = Names(fewest=1, most=60, title="Sections that it is fixed to; left out: all of them")
    whole_machine = Flag(
        load_default=True,
        title="Also the first modes of the sections coupled by their joint rods",
        about="A source far above these first modes is compared with none of them.",
    )

    @validates_schema
    def _something(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        if "hooks_per_min" not in data and not data.get("sources_hz"):
            faults["hooks_per_min"] = [Fault("missing", "Give hooks_per_min or sources_hz.")]
        for name, needs in (
            ("links_per_hook_count", "hooks_per_min"),
            ("teeth_count", "links_per_hook_count"),
        ):
            if name in data and needs not in data:
                faults[needs] = [Fault("missing", f"{name} needs {needs}.")]
        if faults:
            raise ValidationError(faults)


class NearestSchema(ResultSchema):
    """The mode that a source comes nearest to."""

    source = Text(title="Source")
    source_hz = Num("Hz", title="Its frequency")
    mode = Whole(title="Number of the mode, from 0")
    mode_hz = Num("Hz", title="Natural frequency")
    apart_ratio = Num("1", title="How far apart, as a share of the natural frequency")
    clear = Flag(title="As far apart as asked")


class VibrationOfSchema(ResultSchema):
    """A section, or the machine, on its feet, each held in all directions."""

    frequencies_hz = Column("Hz", title="Natural frequencies, lowest first")
    sway_stiffness_n_per_mm = Column("N/mm", title="Along x and y, at the top")
    twist_stiffness_nm_per_rad = Num("N.m/rad", title="About the upright, at the top")
    nearest = ListOf(NearestSchema, title="Each source and the mode it comes nearest to")
    sections = ListOf(Text(), title="Sections that are coupled")


def vibration_part() -> Part:
    """The field of a section and of the machine."""
    return Part(VibrationOfSchema, title="Vibration, standing")
