"""Joint strength from the builder's own pull tests."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from baywright_service.contract import (
    Calculator,
    CannotCalculate,
    Drawing,
    Finding,
    Inputs,
    Result,
    Source,
    TableData,
)

from ..cautions import PLANNING_AID
from . import study
from .censored import DoesNotSettle, NoScatter
from .drawing import draw_losses, draw_probability_plot, draw_test_sheet
from .examples import EXAMPLES
from .findings import findings_of, no_tests_yet
from .fractile import FEWEST_TESTS, TITLES, factor
from .losses import NotEnoughPoints
from .readings import Sample
from .schemas import Inputs as JointStrengthInputs
from .schemas import StrengthResult
from .test_sheet import sheet


class JointStrength(Calculator):
    """How much may one seat be pulled, going by pull tests at the workbench?"""

    name = "joint-strength"
    version = "1.0.0"
    title = "Joint strength from pull tests"
    summary = (
        "Turns readings of a luggage scale into a pull-out strength to count on: characteristic "
        "value with its method named, wear over assemblies, loss while standing, and how many more "
        "tests are worth it. Feeds the kit, and prints a test sheet."
    )
    inputs_schema = JointStrengthInputs
    result_schema = StrengthResult
    examples = EXAMPLES
    sources = (
        Source(
            "ISO 16269-6, Statistical interpretation of data: statistical tolerance intervals",
            "one-sided interval, mean and standard deviation unknown",
        ),
        Source("NIST/SEMATECH e-Handbook of Statistical Methods", "7.2.6.3 and 1.3.3.22"),
        Source("EN 1990:2002, Eurocode: Basis of structural design", "Annex D, D7.2, Table D1"),
        Source(
            "Meeker & Escobar, Statistical Methods for Reliability Data (1998)",
            "chapter 8, censored normal and log-normal samples",
        ),
        Source("Shapiro & Wilk, Biometrika 52 (1965) 591"),
        Source("Blom, Statistical Estimates and Transformed Beta-Variables (1958)"),
        Source("NIST SP 811, Guide for the Use of the SI", "Appendix B.8"),
    )
    cautions = (
        "Strength of the joints that were tested: another batch of rods, another print of hubs, "
        "damp or frost need tests of their own.",
        "Eye protection on, feet clear, and nobody in line with the pull: joints let go at once.",
        "Never count on a snapped joint overhead or to hold a person.",
        PLANNING_AID,
    )
    views = {
        "probability-plot": "Strengths on probability paper with both fitted lines",
        "losses": "Strength over assemblies and over days under load, as fitted",
        "test-sheet": "A sheet to print and fill in at the workbench (A4)",
    }
    tabular = True

    def calculate(self, inputs: Inputs) -> Result:
        sample, losses = study.read_sample(inputs), _losses(inputs)
        if len(sample.force_n) == 0:
            return _sheet_only(inputs, losses)
        fits = _fits(inputs, sample)
        value = _value(inputs, sample, fits, losses)
        findings = [self._proven(inputs, finding) for finding in findings_of(inputs, value)]
        return Result(value, findings, _assumptions(inputs, value))

    def draw(self, inputs: Inputs, result: Result, view: str) -> Drawing:
        draw = {"probability-plot": draw_probability_plot, "losses": draw_losses}
        return draw.get(view, draw_test_sheet)(result.value)

    def table(self, inputs: Inputs, result: Result) -> TableData:
        columns = (
            "rank",
            "source",
            "force_n",
            "gave_way",
            "probability_ratio",
            "normal_quantile",
            "method",
            "characteristic_n",
            "design_n",
        )
        if "probability_plot" not in result.value:
            return TableData(columns, [])
        value, plot = result.value, result.value["probability_plot"]
        place, rows = 0, []
        same = (value["method"], value["characteristic_n"], value["design_n"])
        for rank, force in enumerate(plot["force_n"]):
            gave_way = plot["gave_way"][rank]
            at = (
                (plot["probability_ratio"][place], plot["quantile"][place])
                if gave_way
                else ("", "")
            )
            place += gave_way
            rows.append((rank + 1, plot["sources"][rank], force, gave_way, *at, *same))
        return TableData(columns, rows)

    def _proven(self, inputs: Inputs, finding: Finding) -> Finding:
        """The finding with its remedy, if the remedy clears it."""
        if finding.remedy is None or finding.remedy.patch is None:
            return finding
        if inputs.proving:
            return replace(finding, remedy=None)
        after = self.rerun(inputs, finding.remedy.patch)
        cleared = after is not None and all(f.code != finding.code for f in after.findings)
        return finding if cleared else replace(finding, remedy=None)


def _losses(inputs: Inputs) -> study.Losses:
    try:
        losses = study.losses_of(inputs)
    except NotEnoughPoints as error:
        series = str(error)
        along = {"reassembly": "assemblies", "standing": "days"}[series]
        raise CannotCalculate(
            f"/{series}/{along}",
            f"All {along} are the same: a loss needs at least two different ones.",
        ) from error
    if losses.standing_factor <= 0:
        raise CannotCalculate(
            "/standing_days",
            "The standing series loses so much that nothing is left by then; the straight line "
            "does not hold that far. Test as long as the machine will stand.",
        )
    return losses


def _fits(inputs: Inputs, sample: Sample) -> study.Fits:
    strengths, proofs = len(sample.strengths_n), len(sample.proofs_n)
    if strengths < FEWEST_TESTS:
        held = f" ({proofs} more held, which shows no strength)" if proofs else ""
        three = factor(inputs["method"], FEWEST_TESTS, study.fraction_of(inputs))
        raise CannotCalculate(
            "/readings",
            f"{strengths} strength{'s' if strengths != 1 else ''}{held} cannot show scatter: "
            f"{FEWEST_TESTS - strengths} more at least are missing, and with three the factor on "
            f"the scatter is still {three:.2f}; ten are good.",
        )
    try:
        return study.fit_both(sample)
    except NoScatter as error:
        raise CannotCalculate(
            "/readings",
            "All readings are equal, so they show no scatter: the scale's steps are too coarse. "
            "Read it finer, or take one with a smaller range.",
        ) from error
    except DoesNotSettle as error:
        raise CannotCalculate(
            "/readings",
            "Mean and scatter cannot be found: strengths and proof values lie too far apart. "
            "Look for a slip of the pen or of the unit.",
        ) from error


def _value(
    inputs: Inputs, sample: Sample, fits: study.Fits, losses: study.Losses
) -> dict[str, Any]:
    every = study.estimates(inputs, fits, losses.share_left)
    used = next(each for each in every if each["recommended"])
    if "characteristic_n" not in used:
        raise CannotCalculate("/readings", _nothing_left(used, fits))
    tests, design = len(sample.force_n), used["design_n"]
    value: dict[str, Any] = {
        "method": used["method"],
        "method_title": used["title"],
        "distribution": used["distribution"],
        "tested": inputs["tested"],
        "fraction_ratio": study.fraction_of(inputs),
        "sample": study.sample_result(inputs, sample, fits),
        "factor_ratio": used["factor_ratio"],
        "characteristic_n": used["characteristic_n"],
        **_partial(losses),
        "design_n": design,
        "tension_n": design,
        "kit_patch": {"tension_n": study.tension_of(inputs, design)},
        "estimates": every,
        **_about_losses(inputs, losses),
        "seat": study.seat_kind(inputs),
        "probability_plot": study.plot_result(inputs, sample, fits),
        "sample_advice": study.advice(inputs, fits, losses.share_left, tests),
        "test_sheet": sheet(
            inputs, tests, len(sample.strengths_n), study.fraction_of(inputs), design
        ),
    }
    if "needed_n" in inputs:
        count = study.count_for_needed(inputs, fits, losses.share_left)
        value |= {} if count is None else {"count_for_needed_count": count}
    hub = study.tested_hub(inputs)
    if hub is not None:
        tension = study.tension_of(inputs, design)
        value |= {"hub": hub, "kit": study.patched_kit(inputs.raw["kit"], hub, tension)}
    return value


def _nothing_left(used: Mapping[str, Any], fits: study.Fits) -> str:
    if "scatter_n" not in used:
        return "The logarithms scatter so much that nothing above zero is left. Look for a slip."
    return (
        f"The scatter counted is {100 * used['scatter_n'] / fits.normal.mean:.0f} % of the mean "
        f"and its factor {used['factor_ratio']:.2f}, so nothing above zero is left. Test more "
        "joints, find out why they differ so much, or see whether a log-normal distribution fits."
    )


def _sheet_only(inputs: Inputs, losses: study.Losses) -> Result:
    fraction = study.fraction_of(inputs)
    value = {
        "method": inputs["method"],
        "method_title": TITLES[inputs["method"]],
        "distribution": inputs["distribution"],
        "tested": inputs["tested"],
        "fraction_ratio": fraction,
        **_partial(losses),
        **_about_losses(inputs, losses),
        "seat": study.seat_kind(inputs),
        "sample_advice": study.advice(inputs, None, losses.share_left, 0),
        "test_sheet": sheet(inputs, 0, 0, fraction, None),
    }
    return Result(value, [no_tests_yet(value)])


def _partial(losses: study.Losses) -> dict[str, Any]:
    return {
        "partial_factor_ratio": losses.partial.value,
        "partial_factor_why": losses.partial.why,
    }


def _about_losses(inputs: Inputs, losses: study.Losses) -> dict[str, Any]:
    return {
        "wear": study.wear_result(inputs, losses),
        "standing": study.standing_result(inputs, losses),
    }


def _assumptions(inputs: Inputs, value: Mapping[str, Any]) -> list[str]:
    out = [
        f"Characteristic value: {value['method_title']}, {value['distribution']} distribution.",
        "The joints tested were picked as those for building are, each pulled once.",
        f"Partial factor {value['partial_factor_ratio']:g}: {value['partial_factor_why']}.",
    ]
    if inputs["tested"] == "single-end":
        out.append(
            "The two ends of a rod are independent: the rod's 5 % value is the end's "
            f"{100 * value['fraction_ratio']:.2f} % value."
        )
    if value["sample"]["proofs_count"]:
        out.append(
            "Mean and scatter with proof values by maximum likelihood; the factor counts strengths "
            "only, which simulation shows to be on the safe side."
        )
    if value["wear"]["fitted"] or value["standing"]["fitted"]:
        out.append("Wear and standing multiply each other and act on every joint alike.")
    if "kit" in inputs and "hub" not in inputs:
        out.append(f"The tests belong to hub {value['hub']}, the kit's first frame hub.")
    return out


__all__ = ["JointStrength"]
