"""What joint-strength takes and gives."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from marshmallow import ValidationError, validates_schema

from baywright_plugins.kit import KitSchema
from baywright_service.contract import (
    Choice,
    Column,
    Document,
    Fault,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

from .fractile import KNOWN, METHODS, TOLERANCE
from .partial_factors import PARTIAL_FACTORS
from .readings import STANDARD_KGF_N, UNITS

DISTRIBUTIONS = ("normal", "log-normal")
TESTED = ("whole-rod", "single-end")
HALVES = ("one-piece", "held", "free")
MOST_READINGS = 500
MOST_POINTS = 100


class ReassemblySchema(InputSchema):
    """Strength after more and more assemblies of the same joints."""

    assemblies = Column(
        "1",
        required=True,
        whole=True,
        minimum=1,
        maximum=10_000,
        fewest=2,
        most=MOST_POINTS,
        title="Assembly at which the joints were pulled",
        about="One number for each strength; the same one may stand several times.",
    )
    strength = Column(
        "1",
        required=True,
        minimum=1e-6,
        maximum=1e6,
        fewest=2,
        most=MOST_POINTS,
        title="Strength, a reading or a mean of readings",
        about="In any one unit, or as shares of the first: only ratios count.",
    )

    @validates_schema
    def _pairs(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        _same_length(data, "assemblies")


class StandingSchema(InputSchema):
    """Strength after longer and longer times under load."""

    days = Column(
        "d",
        required=True,
        minimum=0.01,
        maximum=36_500,
        fewest=2,
        most=MOST_POINTS,
        title="Days under load before the joints were pulled",
    )
    strength = Column(
        "1",
        required=True,
        minimum=1e-6,
        maximum=1e6,
        fewest=2,
        most=MOST_POINTS,
        title="Strength, a reading or a mean of readings",
        about="In any one unit, or as shares of the first day's: only ratios count.",
    )

    @validates_schema
    def _pairs(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        _same_length(data, "days")


def _same_length(data: Mapping[str, Any], other: str) -> None:
    if other in data and "strength" in data and len(data[other]) != len(data["strength"]):
        detail = f"Must be as long as {other}: {len(data[other])} entries."
        raise ValidationError({"strength": [Fault("out-of-range", detail)]})


class Inputs(InputSchema):
    """Pull tests of one kind of rod in one kind of hub, and the life they must last."""

    title = Text(longest=80, load_default="", title="What is tested", example="R120 in H18")
    readings = Column(
        "1",
        minimum=0.001,
        maximum=1_000_000,
        most=MOST_READINGS,
        title="Readings of the scale at the first slip, one a fresh joint",
        about="In reading_unit. Leave them out to get an empty test sheet.",
    )
    reading_unit = Choice(
        *UNITS,
        load_default="kgf",
        title="Unit the scale shows",
        about="A choice here, and nowhere else: readings are copied from the scale as they stand, "
        "and its unit belongs to the measurement. kgf for a scale marked kg, lbf for lb.",
    )
    kgf_n = Num(
        "N",
        load_default=STANDARD_KGF_N,
        minimum=9.7,
        maximum=9.9,
        title="Newtons in one kilogram-force",
        about="9.80665 by definition. A scale marked in lb follows it too.",
    )
    scale_limit = Num(
        "1",
        above=0,
        maximum=1_000_000,
        title="The most the scale can show, in reading_unit",
        about="Readings there are proof values, not strengths: the joint held more.",
    )
    proofs = Column(
        "1",
        minimum=0.001,
        maximum=1_000_000,
        most=MOST_READINGS,
        title="Loads that fresh joints held when the pull was stopped, in reading_unit",
    )
    tested = Choice(
        *TESTED,
        load_default="whole-rod",
        title="What was pulled",
        about="A whole rod with a hub on both ends (the weaker seat decides), or a single end: "
        "then a rod's 5 % value is the end's 2.53 % value.",
    )
    halves = Choice(
        *HALVES,
        load_default="one-piece",
        title="Hub in the test",
        about="In one piece; two halves held together as both diagonals of a face do; or free to "
        "slide. It decides which tension_n of the hub the result feeds.",
    )
    tested_at_assembly_count = Whole(
        load_default=1,
        minimum=1,
        maximum=10_000,
        title="Assembly at which the readings were taken",
        about="1 for new parts.",
    )
    held_after_slip_ratio = Num(
        "1",
        minimum=0,
        maximum=3,
        title="Force still held 3 mm after the first slip, as a share of it",
        about="The least of the tests. Below 0.8 the seat is a detent, not a slider.",
    )
    method = Choice(
        *METHODS,
        load_default=TOLERANCE,
        title="Method of the characteristic value",
        about="All are shown side by side; this one is used.",
    )
    distribution = Choice(
        *DISTRIBUTIONS, load_default="normal", title="Distribution the strengths follow"
    )
    known_variation_ratio = Num(
        "1",
        above=0,
        maximum=1,
        title="Coefficient of variation known from earlier series",
        about="Needed for en-1990-known only.",
    )
    least_variation_ratio = Num(
        "1",
        minimum=0,
        maximum=1,
        title="Least coefficient of variation to count with",
        about="Left out: 0.10 for en-1990-unknown, as the standard asks, and 0 for tolerance-75.",
    )
    assemblies_count = Whole(
        minimum=1,
        maximum=10_000,
        title="Assemblies the joints must last",
        about="Left out: strength as tested, and a finding that says so.",
    )
    standing_days = Num(
        "d",
        load_default=1.0,
        minimum=1,
        maximum=36_500,
        title="Longest time the machine stands under load",
    )
    reassembly = Part(ReassemblySchema, title="Re-assembly series")
    standing = Part(StandingSchema, title="Standing series")
    partial_factor = Choice(
        *PARTIAL_FACTORS,
        load_default="none",
        title="Partial factor on strength, by name",
        about="; ".join(f"{name} {each.value:g}" for name, each in PARTIAL_FACTORS.items())
        + ". Do not ask for the same margin again in the strength check.",
    )
    partial_factor_ratio = Num(
        "1", minimum=1, maximum=10, title="Partial factor of your own, in place of a named one"
    )
    needed_n = Num("N", above=0, maximum=1_000_000, title="Design strength the machine needs")
    kit = Document("kit", KitSchema, title="Kit whose hub was tested")
    hub = Key(title="Hub tested, an id of the kit", about="Left out: the kit's first frame hub.")

    @validates_schema
    def _fits_together(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        if "scale_limit" in data:
            over = np.flatnonzero(data.get("readings", np.empty(0)) > data["scale_limit"])
            fault = Fault("out-of-range", "Is above scale_limit; the scale cannot show it.")
            if len(over):
                faults["readings"] = {int(k): [fault] for k in over[:20]}
        if data.get("method") == KNOWN and "known_variation_ratio" not in data:
            faults["known_variation_ratio"] = [Fault("missing", "en-1990-known needs it.")]
        if "partial_factor_ratio" in data and data.get("partial_factor", "none") != "none":
            detail = "Give a named partial factor or one of your own, not both."
            faults["partial_factor_ratio"] = [Fault("not-unique", detail)]
        _check_hub(data, faults)
        if faults:
            raise ValidationError(faults)


def _check_hub(data: Mapping[str, Any], faults: dict[str, Any]) -> None:
    if "kit" not in data:
        if "hub" in data:
            faults["hub"] = [Fault("unknown-reference", "Names a hub, but there is no kit.")]
        return
    known = [hub["id"] for hub in data["kit"]["hubs"]]
    if data.get("hub", known[0]) not in known:
        detail = f"No such hub in the kit; there are {', '.join(known)}."
        faults["hub"] = [Fault("unknown-reference", detail, available=known)]


class SampleOut(ResultSchema):
    count = Whole(title="Joints pulled")
    strengths_count = Whole(title="Strengths: joints that gave way")
    proofs_count = Whole(title="Proof values: joints that held")
    reading_unit = Text(title="Unit of the readings")
    newtons_per_unit_n = Num("N", title="Newtons in one unit")
    mean_n = Num("N", title="Mean; with proof values by maximum likelihood")
    sd_n = Num("N", title="Standard deviation, likewise")
    variation_ratio = Num("1", title="Coefficient of variation")
    log_median_n = Num("N", title="Median by logarithms")
    log_sd_ratio = Num("1", title="Standard deviation of natural logarithms")
    weakest_n = Num("N", title="Weakest joint")
    strongest_n = Num("N", title="Largest force pulled")


class EstimateOut(ResultSchema):
    method = Choice(*METHODS, title="Method")
    distribution = Choice(*DISTRIBUTIONS, title="Distribution")
    title = Text(title="Method in words")
    recommended = Flag(title="The one that is used")
    factor_ratio = Num("1", title="Factor on the scatter")
    tests_count = Whole(title="Tests the factor counts: strengths, not proof values")
    confidence_ratio = Num("1", title="Confidence that the true 5 % value is not lower")
    scatter_n = Num("N", title="Standard deviation used, normal")
    log_scatter_ratio = Num("1", title="Standard deviation of logarithms used, log-normal")
    characteristic_n = Num("N", title="Characteristic value; absent where it is not above zero")
    design_n = Num("N", title="Design value, the same losses and partial factor taken off")
    note = Text(title="What to know about it")


class WearOut(ResultSchema):
    fitted = Flag(title="From a re-assembly series")
    exponent_ratio = Num("1", title="b: strength goes as assemblies to the power -b")
    exponent_error_ratio = Num("1", title="Standard error of b")
    r_squared_ratio = Num("1", title="Share of the scatter the line explains")
    tested_at_count = Whole(title="Assembly the readings stand for")
    assemblies_count = Whole(title="Assemblies to last")
    factor_ratio = Num("1", title="Share of strength left")
    assemblies = Column("1", whole=True, title="Assembly of each point")
    strength = Column("1", title="Strength of each point, as given")
    curve_assemblies = Column("1", title="Fitted curve: assemblies")
    curve_strength = Column("1", title="Fitted curve: strength")


class StandingOut(ResultSchema):
    fitted = Flag(title="From a standing series")
    loss_per_decade_ratio = Num("1", title="c: share lost each time the days grow tenfold")
    loss_error_ratio = Num("1", title="Standard error of c")
    r_squared_ratio = Num("1", title="Share of the scatter the line explains")
    days = Column("d", title="Days of each point")
    strength = Column("1", title="Strength of each point, as given")
    standing_days = Num("d", title="Days to stand")
    factor_ratio = Num("1", title="Share of strength left")
    curve_days = Column("d", title="Fitted curve: days")
    curve_strength = Column("1", title="Fitted curve: strength")


class PlotLineOut(ResultSchema):
    distribution = Choice(*DISTRIBUTIONS, title="Distribution")
    force_n = Column("N", title="Force")
    quantile = Column("1", title="Normal quantile of the fitted share that is weaker")
    straightness_ratio = Num("1", title="Correlation of the points with a straight line")
    normal_by_chance_ratio = Num(
        "1", title="Shapiro-Wilk: chance to lie as crooked; absent with proof values"
    )
    log_likelihood = Num("1", title="Logarithm of the likelihood, both in newtons")


class PlotOut(ResultSchema):
    """Joints weakest first."""

    force_n = Column("N", title="Force of each joint pulled")
    gave_way = ListOf(Flag(), most=2 * MOST_READINGS, title="True: a strength; false: proof value")
    sources = Names(title="Where each stands in the inputs")
    strength_n = Column("N", title="Strengths")
    probability_ratio = Column("1", title="Share expected to be weaker, one a strength")
    quantile = Column("1", title="Normal quantile of that")
    fraction_ratio = Num("1", title="Share at which the characteristic value is read")
    fraction_quantile = Num("1", title="Normal quantile of that")
    lines = ListOf(PlotLineOut, title="Fitted distributions")
    better_distribution = Choice(*DISTRIBUTIONS, title="Distribution with the larger likelihood")


class AdviceOut(ResultSchema):
    count = Whole(title="Tests in all")
    more_count = Whole(title="More than now")
    factor_ratio = Num("1", title="Factor on the scatter")
    characteristic_n = Num("N", title="Characteristic value if mean and scatter stay")
    design_n = Num("N", title="Design value likewise")


class SheetTableOut(ResultSchema):
    title = Text(title="Heading")
    columns = ListOf(Text(longest=60), title="Columns")
    rows = ListOf(ListOf(Text(longest=60)), title="Rows; empty cells are for the pencil")


class SheetOut(ResultSchema):
    title = Text(title="Heading")
    tested = Text(title="What is tested")
    steps = ListOf(Text(), title="What to do, in order")
    tables = ListOf(SheetTableOut, title="Tables to fill in")
    advice = ListOf(Text(), title="How many tests, and why")


class TensionPatch(ResultSchema):
    held = Num("N", title="Halves tied together")
    free = Num("N", title="Halves not tied")


class KitPatch(ResultSchema):
    tension_n = Part(TensionPatch, title="Pull-out of one seat, design value")


class StrengthResult(ResultSchema):
    method = Choice(*METHODS, title="Method used")
    method_title = Text(title="Method used, in words")
    distribution = Choice(*DISTRIBUTIONS, title="Distribution used")
    tested = Choice(*TESTED, title="What was pulled")
    fraction_ratio = Num("1", title="Share of tested pieces at the rod's 5 % value")
    sample = Part(SampleOut, title="The pull tests")
    factor_ratio = Num("1", title="Factor on the scatter")
    characteristic_n = Num("N", title="Characteristic strength: one rod in twenty is weaker")
    partial_factor_ratio = Num("1", title="Partial factor")
    partial_factor_why = Text(title="Where the partial factor comes from")
    design_n = Num("N", title="Design strength after wear, standing and partial factor")
    tension_n = Num("N", title="The same, for a hub's tension_n.held or .free")
    kit_patch = Part(
        KitPatch,
        title="Merge patch for the tested hub",
        about="Holds held, free or both, as tested. Merge patches replace arrays whole, so it is "
        "a patch on one hub, not on a kit; result.kit is the whole kit so patched.",
    )
    hub = Key(title="Hub the tests belong to, where a kit is given")
    kit = Part(KitSchema, title="The kit with the tested hub's tension_n replaced")
    estimates = ListOf(EstimateOut, title="Every method and distribution side by side")
    wear = Part(WearOut, title="Wear over assemblies")
    standing = Part(StandingOut, title="Loss while standing")
    seat = Choice("slider", "detent", "unknown", title="What the seat does after the first slip")
    probability_plot = Part(PlotOut, title="Strengths on probability paper")
    sample_advice = ListOf(AdviceOut, title="What more tests would bring")
    count_for_needed_count = Whole(
        title="Tests that would reach needed_n if mean and scatter stay; absent: none would"
    )
    test_sheet = Part(SheetOut, title="Sheet to print")
