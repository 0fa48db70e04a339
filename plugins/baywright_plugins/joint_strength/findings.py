"""What the builder should know about a series of pull tests. Reads the result, computes nothing
that the result does not hold, apart from the chance of a stated scatter."""

from collections.abc import Iterator, Mapping
from typing import Any

import scipy

from baywright_service.contract import Finding, Measure, Remedy

from .fractile import KNOWN, TITLES

FEW_TESTS = 6
GOOD_TESTS = 10
LARGE_VARIATION = 0.20
CROOKED_BY_CHANCE = 0.05

Value = Mapping[str, Any]


def findings_of(inputs: Value, value: Value) -> Iterator[Finding]:
    """Findings on a result with a characteristic value, most important first."""
    yield from _needed(inputs, value)
    yield _design(inputs, value)
    yield _mean_is_not_strength(value)
    yield from _few_tests(value)
    yield _factor(value)
    yield from _censored(value)
    yield from _scatter(value)
    yield from _shape(value)
    yield from _known_scatter(inputs, value)
    yield from _wear(inputs, value)
    yield from _standing(inputs, value)
    yield from _seat(inputs, value)
    yield from _kit(inputs, value)


def no_tests_yet(value: Value) -> Finding:
    """For a call without readings."""
    ten = next(row for row in value["sample_advice"] if row["count"] == GOOD_TESTS)
    return Finding(
        "no-tests-yet",
        "watch",
        "There are no readings yet. Print the test sheet and pull ten fresh joints: "
        f"the factor on the scatter is then {ten['factor_ratio']:.2f}.",
        at=("/sample_advice",),
        measure=Measure(0, GOOD_TESTS),
    )


def _needed(inputs: Value, value: Value) -> Iterator[Finding]:
    if "needed_n" not in inputs:
        return
    measure = Measure(value["design_n"], inputs["needed_n"], "N")
    have = f"The joint is good for {measure.value:.1f} N; {measure.limit:.1f} N are needed."
    if value["design_n"] >= inputs["needed_n"]:
        yield Finding("strong-enough", "ok", f"{have} Build on.", ("/needed_n",), measure)
        return
    count = value.get("count_for_needed_count")
    if count is None:
        todo = "No number of tests will show that: lower the force, or better the joint."
    else:
        todo = f"If mean and scatter stay, {count} tests would show it: pull more."
    yield Finding("not-strong-enough", "stop", f"{have} {todo}", ("/needed_n",), measure)


def _design(inputs: Value, value: Value) -> Finding:
    parts = [f"characteristic {value['characteristic_n']:.1f} N"]
    if value["wear"]["fitted"] and "assemblies_count" in inputs:
        parts.append(
            f"{value['wear']['factor_ratio']:.3f} after {inputs['assemblies_count']} assemblies"
        )
    if value["standing"]["fitted"]:
        parts.append(
            f"{value['standing']['factor_ratio']:.3f} after {inputs['standing_days']:g} days"
        )
    if value["partial_factor_ratio"] != 1.0:
        parts.append(f"partial factor {value['partial_factor_ratio']:g}")
    return Finding(
        "design-strength",
        "ok",
        f"Count on {value['design_n']:.1f} N for each seat in tension: {', '.join(parts)}.",
        at=("/design_n",),
        measure=Measure(value["design_n"], value["characteristic_n"], "N"),
    )


def _mean_is_not_strength(value: Value) -> Finding:
    sample = value["sample"]
    return Finding(
        "mean-is-not-strength",
        "ok",
        f"The mean of {sample['mean_n']:.1f} N is not the strength: half of all rods are weaker. "
        f"Use {value['characteristic_n']:.1f} N, which one rod in twenty misses.",
        at=("/sample/mean_n", "/characteristic_n"),
        measure=Measure(value["characteristic_n"], sample["mean_n"], "N"),
    )


def _few_tests(value: Value) -> Iterator[Finding]:
    n = value["sample"]["strengths_count"]
    if n >= FEW_TESTS:
        return
    ten = next(row for row in value["sample_advice"] if n + row["more_count"] >= GOOD_TESTS)
    yield Finding(
        "few-tests",
        "watch",
        f"{n} tests are too few: factor {value['factor_ratio']:.2f} on the scatter. "
        f"Pull {ten['more_count']} more and it falls to {ten['factor_ratio']:.2f}.",
        at=("/readings",),
        measure=Measure(n, GOOD_TESTS),
    )


def _factor(value: Value) -> Finding:
    n, method = value["sample"]["strengths_count"], value["method"]
    more = value["sample_advice"][0] if value["sample_advice"] else None
    gain = ""
    if more is not None and "characteristic_n" in more:
        gain = (
            f" Pull {more['more_count']} more and it is {more['factor_ratio']:.3f}: "
            f"{more['characteristic_n'] - value['characteristic_n']:.1f} N gained "
            "if the scatter stays."
        )
    return Finding(
        "factor-on-the-scatter",
        "ok",
        f"With {n} tests take {value['factor_ratio']:.3f} times the scatter off: "
        f"{TITLES[method]}.{gain}",
        at=("/factor_ratio",),
        measure=Measure(value["factor_ratio"]),
    )


def _censored(value: Value) -> Iterator[Finding]:
    sample = value["sample"]
    proofs = sample["proofs_count"]
    if proofs == 0:
        return
    share = proofs / sample["count"]
    todo = (
        "Borrow a scale with a larger range: more than half of the tests say little."
        if share > 0.5
        else "Take a scale with a larger range for the next ones."
    )
    yield Finding(
        "censored-readings",
        "watch",
        f"{proofs} of {sample['count']} joints held all that was pulled; these are proof values, "
        "not strengths. They count as “at least this much”, and the factor is that of the "
        f"{sample['strengths_count']} strengths alone. {todo}",
        at=("/sample/proofs_count",),
        measure=Measure(share, 0.5),
    )


def _scatter(value: Value) -> Iterator[Finding]:
    variation = value["sample"]["variation_ratio"]
    if variation <= LARGE_VARIATION:
        return
    yield Finding(
        "scatter-large",
        "watch",
        f"The scatter is {100 * variation:.0f} % of the mean, more than "
        f"{100 * LARGE_VARIATION:.0f} %. Look for two kinds of rods, hubs or wear in one series "
        "and test them apart.",
        at=("/sample/variation_ratio",),
        measure=Measure(variation, LARGE_VARIATION),
    )


def _shape(value: Value) -> Iterator[Finding]:
    plot = value["probability_plot"]
    line = next(x for x in plot["lines"] if x["distribution"] == value["distribution"])
    chance = line.get("normal_by_chance_ratio")
    if chance is None or chance >= CROOKED_BY_CHANCE:
        return
    other = next(x for x in plot["lines"] if x is not line)
    straighter = other.get("normal_by_chance_ratio", 0.0) >= CROOKED_BY_CHANCE
    remedy = None
    todo = "Look for two kinds of joints, or one pull that went wrong."
    if straighter:
        patch = {"distribution": other["distribution"]}
        remedy = Remedy(f"Use the {other['distribution']} distribution.", patch)
        todo = f"The {other['distribution']} one fits: use it."
    yield Finding(
        "not-normal",
        "watch",
        f"The strengths do not follow a {value['distribution']} distribution (Shapiro-Wilk: "
        f"{chance:.3f}, below {CROOKED_BY_CHANCE}). {todo}",
        at=("/probability_plot",),
        measure=Measure(chance, CROOKED_BY_CHANCE),
        remedy=remedy,
    )


def _known_scatter(inputs: Value, value: Value) -> Iterator[Finding]:
    if value["method"] != KNOWN:
        return
    n, stated = value["sample"]["strengths_count"], inputs["known_variation_ratio"]
    measured = value["sample"]["variation_ratio"]
    limit = stated * float(scipy.stats.chi2.ppf(0.95, n - 1) / (n - 1)) ** 0.5
    if measured > limit:
        yield Finding(
            "known-scatter-doubted",
            "watch",
            f"The tests scatter by {100 * measured:.1f} %; with the {100 * stated:.1f} % stated as "
            f"known, {100 * limit:.1f} % would be exceeded once in twenty series. Find out why, or "
            "count the scatter as unknown.",
            at=("/known_variation_ratio",),
            measure=Measure(measured, limit),
            remedy=Remedy("Count the scatter as unknown.", {"method": "en-1990-unknown"}),
        )


def _wear(inputs: Value, value: Value) -> Iterator[Finding]:
    wear, tested_at = value["wear"], inputs["tested_at_assembly_count"]
    last = inputs.get("assemblies_count")
    if not wear["fitted"]:
        if last is None or last > tested_at:
            used = f"at assembly {last}" if last else "taken apart and built again"
            yield Finding(
                "new-parts-tested",
                "watch",
                f"Joints were tested at assembly {tested_at} and will be used {used}; how much "
                "they wear is not known. Pull joints after 5, 10, 20 and 40 assemblies.",
                at=("/wear",),
                measure=Measure(tested_at, last),
            )
        return
    b = wear["exponent_ratio"]
    if b <= 0:
        yield Finding(
            "wear-not-seen",
            "watch",
            "The re-assembly series grows stronger; no gain is counted. Pull more joints after "
            "many assemblies.",
            at=("/wear",),
            measure=Measure(b, 0.0),
        )
    if last is None:
        yield Finding(
            "assemblies-not-stated",
            "watch",
            "Wear is fitted, but not counted. Say how many assemblies the joints must last.",
            at=("/wear",),
        )
        return
    if b > 0:
        yield Finding(
            "wear-fitted",
            "ok",
            f"Strength goes as assemblies to the power -{b:.3f}: after {last} assemblies "
            f"{wear['factor_ratio']:.3f} of it is left. Retire or retest the joints then.",
            at=("/wear",),
            measure=Measure(wear["factor_ratio"]),
        )
    yield from _beyond(last, float(wear["assemblies"].max()), "assemblies", "/assemblies_count")


def _standing(inputs: Value, value: Value) -> Iterator[Finding]:
    standing, days = value["standing"], inputs["standing_days"]
    if not standing["fitted"]:
        if days > 1:
            yield Finding(
                "standing-not-tested",
                "watch",
                f"The machine stands {days:g} days under load; what that takes away is not known. "
                "Hang weights on joints and pull them after 1, 7 and 30 days.",
                at=("/standing",),
                measure=Measure(1, days, "d"),
            )
        return
    c = standing["loss_per_decade_ratio"]
    if c <= 0:
        yield Finding(
            "standing-loss-not-seen",
            "watch",
            "The standing series grows stronger; no gain is counted. Pull more joints after "
            "longer times.",
            at=("/standing",),
            measure=Measure(c, 0.0),
        )
    else:
        yield Finding(
            "standing-fitted",
            "ok",
            f"Each tenfold of time under load takes {100 * c:.1f} % away: after {days:g} days "
            f"{standing['factor_ratio']:.3f} is left. Slacken or unload a machine in store.",
            at=("/standing",),
            measure=Measure(standing["factor_ratio"]),
        )
    yield from _beyond(days, float(standing["days"].max()), "days", "/standing/standing_days")


def _beyond(wanted: float, tested: float, what: str, at: str) -> Iterator[Finding]:
    if wanted > tested:
        yield Finding(
            "beyond-the-tests",
            "watch",
            f"{wanted:g} {what} lie beyond the {tested:g} that were tested. Test as far as the "
            "machine will go.",
            at=(at,),
            measure=Measure(wanted, tested, "d" if what == "days" else "1"),
        )


def _seat(inputs: Value, value: Value) -> Iterator[Finding]:
    if value["seat"] == "detent":
        share = inputs["held_after_slip_ratio"]
        yield Finding(
            "seat-is-a-detent",
            "watch",
            f"After the first slip the seat holds only {100 * share:.0f} % of its force, less than "
            "80 %: it lets go. Judge frames by first slip alone; a collapse factor does not apply.",
            at=("/held_after_slip_ratio",),
            measure=Measure(share, 0.8),
        )


def _kit(inputs: Value, value: Value) -> Iterator[Finding]:
    if "kit" not in value:
        return
    hub = value["hub"]
    before = next(h for h in inputs["kit"]["hubs"] if h["id"] == hub)["tension_n"]
    for name in value["kit_patch"]["tension_n"]:
        if before[name] > value["design_n"] * (1 + 1e-9):
            yield Finding(
                "kit-stronger-than-tests",
                "watch",
                f"The kit counts on {before[name]:.1f} N for hub {hub} ({name}); the tests allow "
                f"{value['design_n']:.1f} N. Put the tested value into the kit.",
                at=("/kit",),
                measure=Measure(before[name], value["design_n"], "N"),
            )
