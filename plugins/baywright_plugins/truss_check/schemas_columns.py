"""What a single column and a laced built-up column look like on the wire."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Fault,
    InputSchema,
    Num,
    ResultSchema,
    Text,
    Whole,
)

from ..kit.buckling_curves import IMPERFECTION
from .columns import LENGTH_FACTORS


def _length(title: str, *, required: bool = False) -> Num:
    return Num("mm", minimum=1e-3, maximum=1e7, required=required, title=title)


def _stiffness(unit: str, title: str) -> Num:
    return Num(unit, minimum=1e-9, maximum=1e18, title=title)


def _ends() -> Choice:
    return Choice(
        *LENGTH_FACTORS, load_default="pinned", title="How its two ends are held",
        about="Length factors 1, 0.5, 0.7 and 2. What is bolted or snapped is pinned: safe side.",
    )  # fmt: skip


def _factor() -> Num:
    return Num("1", minimum=0.1, maximum=20, title="Length factor, in place of ends")


class ColumnSchema(InputSchema):
    """One straight rod or tube pressed along its length."""

    length_mm = _length("Length", required=True)
    bending_stiffness_n_mm2 = _stiffness("N.mm2", "E I; or give modulus and section")
    modulus_n_per_mm2 = Num("N/mm2", minimum=1e-3, maximum=1e7, title="Modulus of elasticity E")
    inertia_mm4 = _stiffness("mm4", "Second moment of area I")
    diameter_mm = _length("Diameter of a round section, in place of I and the area")
    inner_diameter_mm = Num(
        "mm", minimum=0, maximum=1e7, load_default=0.0, title="Inner diameter of a tube"
    )
    area_mm2 = _stiffness("mm2", "Area of the section, for its strength")
    ends = _ends()
    length_factor = _factor()
    end_spring_n_mm_per_rad = Num(
        "N.mm/rad", minimum=0, maximum=1e15,
        title="Turning stiffness of both ends, in place of ends",
    )  # fmt: skip
    compression_strength_n_per_mm2 = Num(
        "N/mm2", minimum=1e-3, maximum=1e6, title="Strength; then crookedness is reckoned with"
    )
    curve = Choice(
        *IMPERFECTION, load_default="c", title="Buckling curve",
        about="Of EN 1993-1-1, Table 6.1; c is that of solid sections in Table 6.2.",
    )  # fmt: skip
    axial_load_n = Num("N", minimum=0, maximum=1e12, title="Load it must carry")

    @validates_schema
    def _enough(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        if "bending_stiffness_n_mm2" not in data:
            if "modulus_n_per_mm2" not in data:
                detail = "Give bending_stiffness_n_mm2, or modulus_n_per_mm2 with inertia_mm4."
                faults["bending_stiffness_n_mm2"] = [Fault("missing", detail)]
            elif "inertia_mm4" not in data and "diameter_mm" not in data:
                detail = "Give the second moment of area, or diameter_mm of a round section."
                faults["inertia_mm4"] = [Fault("missing", detail)]
        if "diameter_mm" in data and data["inner_diameter_mm"] >= data["diameter_mm"]:
            detail = "Must be below diameter_mm."
            faults["inner_diameter_mm"] = [Fault("out-of-range", detail)]
        strength = "compression_strength_n_per_mm2" in data
        if strength and "area_mm2" not in data and "diameter_mm" not in data:
            faults["area_mm2"] = [Fault("missing", "Strength needs the area of the section.")]
        if "length_factor" in data and "end_spring_n_mm_per_rad" in data:
            detail = "Give length_factor or end_spring_n_mm_per_rad, not both."
            faults["length_factor"] = [Fault("not-unique", detail)]
        if faults:
            raise ValidationError(faults)


#: Each stiffness of a built-up column: its own field, and the section from which it follows.
PARTS = (
    ("chord_axial_stiffness_n", "chord_area_mm2"),
    ("chord_bending_stiffness_n_mm2", "chord_inertia_mm4"),
    ("diagonal_axial_stiffness_n", "diagonal_area_mm2"),
    ("post_axial_stiffness_n", "post_area_mm2"),
)


class BuiltUpColumnSchema(InputSchema):
    """A column of chords joined by lacing. Stiffnesses as they are, or E with areas."""

    system = Choice(
        "single", "posts", "crossed", required=True, title="Lacing",
        about="single: zigzag without posts; posts: one diagonal and a post in each panel; "
        "crossed: two diagonals in each panel.",
    )  # fmt: skip
    length_mm = _length("Length; left out: panels times panel")
    panels_count = Whole(minimum=1, maximum=100_000, title="Panels along its length")
    panel_mm = _length("Length along the chord that one diagonal spans", required=True)
    chord_panel_mm = _length("Free length of a chord; left out: between its lacing points")
    chord_distance_mm = _length("Between chord axes, in the plane of buckling", required=True)
    chords_count = Whole(minimum=2, maximum=4, load_default=2, title="Chords, all together")
    planes_count = Whole(minimum=1, maximum=10, load_default=1, title="Parallel planes of lacing")
    ends = _ends()
    length_factor = _factor()
    modulus_n_per_mm2 = Num("N/mm2", minimum=1e-3, maximum=1e7, title="Modulus of elasticity E")
    chord_area_mm2 = _stiffness("mm2", "Area of one chord")
    chord_inertia_mm4 = _stiffness("mm4", "Second moment of area of one chord")
    diagonal_area_mm2 = _stiffness("mm2", "Area of one diagonal")
    post_area_mm2 = _stiffness("mm2", "Area of one post")
    chord_axial_stiffness_n = _stiffness("N", "E A of one chord")
    chord_bending_stiffness_n_mm2 = _stiffness("N.mm2", "E I of one chord")
    diagonal_axial_stiffness_n = _stiffness("N", "E A of one diagonal")
    post_axial_stiffness_n = _stiffness("N", "E A of one post")
    seat_stiffness_n_per_mm = Num(
        "N/mm", minimum=1e-6, maximum=1e12,
        title="Stiffness of the seat at both ends of each rod, in series",
        about="Chord rods are taken to be one panel long. Left out: joints that do not give.",
    )  # fmt: skip
    axial_load_n = Num("N", minimum=0, maximum=1e12, title="Load it must carry")

    @validates_schema
    def _enough(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        if "length_mm" not in data and "panels_count" not in data:
            faults["length_mm"] = [Fault("missing", "Give length_mm or panels_count.")]
        for stiffness, section in PARTS:
            if stiffness in data:
                continue
            if stiffness.startswith("post") and data.get("system") != "posts":
                continue
            if section not in data:
                faults[section] = [Fault("missing", f"Give it, or {stiffness}.")]
            elif "modulus_n_per_mm2" not in data:
                detail = f"It is needed with {section}; or give {stiffness}."
                faults["modulus_n_per_mm2"] = [Fault("missing", detail)]
        if faults:
            raise ValidationError(faults)


class ColumnResultSchema(ResultSchema):
    """Critical loads of one column; what does not apply is left out."""

    critical_load_n = Num("N", title="The smallest of the loads below")
    governs = Text(title="column, imperfect-column, whole-column or chord")
    euler_n = Num("N", title="Euler load, of a built-up column without shear")
    length_factor = Num("1", title="Effective length over length")
    effective_length_mm = Num("mm")
    bending_stiffness_n_mm2 = Num("N.mm2", title="E I that was used")
    squash_n = Num("N", title="Strength times area")
    slenderness_ratio = Num("1", title="Square root of squash load over Euler load")
    reduction_ratio = Num("1", title="Share of the squash load that is reached")
    imperfect_load_n = Num("N", title="What a crooked column reaches")
    shear_stiffness_n = Num("N", title="Of all planes of lacing")
    engesser_n = Num("N", title="The whole column with shear of the lacing")
    chord_n = Num("N", title="All chords buckling between lacing points")
    load_factor = Num("1", title="Critical load over axial load")
    middle_moment_n_mm = Num("N.mm", title="Moment at the middle, bowed by 1/500")
    chord_force_n = Num("N", title="Largest force of one chord, with that moment")
