"""The calculator: the demo machine's joints, findings, refusals, and what must not matter."""

import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from baywright_plugins.joint_strength import JointStrength
from baywright_plugins.joint_strength.examples import EXAMPLES
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch, resolve
from baywright_service.json_writer import json_bytes, plain

DATA = Path(__file__).parents[2] / "data" / "returns-desk"
DEMO: dict[str, Any] = dict(EXAMPLES[0].inputs)
KIT = json.loads((DATA / "kit.json").read_text())
CALCULATOR = JointStrength()


def run(inputs: Mapping[str, Any], **changes: Any) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(merge_patch(dict(inputs), changes)))


def codes(result: Result) -> dict[str, str]:
    return {finding.code: finding.level for finding in result.findings}


def finding(result: Result, code: str) -> Any:
    return next(each for each in result.findings if each.code == code)


@pytest.fixture(scope="module")
def expected() -> dict[str, float]:
    numbers: dict[str, float] = json.loads((DATA / "expected.json").read_text())["expected"]["kit"]
    return numbers


@pytest.fixture(scope="module")
def demo() -> dict[str, Any]:
    return dict(run(DEMO).value)


def by_method(value: Mapping[str, Any], method: str, distribution: str) -> dict[str, Any]:
    return next(
        dict(each)
        for each in value["estimates"]
        if (each["method"], each["distribution"]) == (method, distribution)
    )


def test_demo_sample(demo: dict[str, Any], expected: dict[str, float]) -> None:
    """Twelve pulls of the demo machine, computed by an independent program."""
    sample = demo["sample"]
    assert sample["count"] == sample["strengths_count"] == expected["n"]
    assert sample["mean_n"] == pytest.approx(expected["mean_N"], abs=0.05)
    assert sample["sd_n"] == pytest.approx(expected["sd_N"], abs=0.005)


def test_demo_characteristic_values(demo: dict[str, Any], expected: dict[str, float]) -> None:
    """Both methods, named, side by side; the first is used."""
    assert demo["method"] == "tolerance-75"
    assert demo["factor_ratio"] == pytest.approx(expected["k_75_percent_confidence"], abs=5e-4)
    assert demo["characteristic_n"] == pytest.approx(expected["characteristic_N"], abs=0.05)
    annex_d = by_method(demo, "en-1990-unknown", "normal")
    assert annex_d["factor_ratio"] == pytest.approx(expected["k_EN1990_D"], abs=5e-4)
    assert annex_d["characteristic_n"] == pytest.approx(
        expected["characteristic_EN1990_D_N"], abs=0.05
    )
    assert [each["recommended"] for each in demo["estimates"]].count(True) == 1


def test_demo_losses(demo: dict[str, Any], expected: dict[str, float]) -> None:
    """Wear over 20 assemblies and loss over 30 days of the demo machine."""
    wear, standing = demo["wear"], demo["standing"]
    assert -wear["exponent_ratio"] == pytest.approx(expected["reassembly_exponent"], abs=5e-5)
    assert wear["factor_ratio"] == pytest.approx(expected["factor_after_20_assemblies"], abs=5e-4)
    assert standing["factor_ratio"] == pytest.approx(expected["factor_after_30_days"], abs=5e-4)


def test_demo_design_value(demo: dict[str, Any], expected: dict[str, float]) -> None:
    """What the demo machine's kit counts on: 60 N of 60.5."""
    assert demo["design_n"] == pytest.approx(expected["design_N"], abs=0.05)
    assert demo["tension_n"] == demo["design_n"]
    assert codes(run(DEMO)) == {
        "strong-enough": "ok",
        "design-strength": "ok",
        "mean-is-not-strength": "ok",
        "factor-on-the-scatter": "ok",
        "wear-fitted": "ok",
        "standing-fitted": "ok",
    }


def test_log_normal_by_hand() -> None:
    """Readings e^1, e^2, e^3: median e^2, log scatter 1, so e^(2 - 3.152)."""
    value = run({"readings": [2.718281828, 7.389056099, 20.08553692], "reading_unit": "N",
                 "distribution": "log-normal"}).value  # fmt: skip
    assert value["characteristic_n"] == pytest.approx(2.718281828 ** (2 - 3.15184), rel=1e-5)


def test_en_1990_counts_unknown_scatter_as_a_tenth_at_least() -> None:
    """EN 1990:2002 D7.1 (from memory): V of 1 % counts as 10 % where it is not known beforehand.
    By hand: 100 (1 - 2.335 x 0.1) = 76.65."""
    inputs = {"readings": [99.0, 99.5, 100, 100.5, 101], "reading_unit": "N"}
    value = run(inputs, method="en-1990-unknown").value
    assert value["characteristic_n"] == pytest.approx(76.65, abs=0.02)
    free = run(inputs, method="en-1990-unknown", least_variation_ratio=0).value
    assert free["characteristic_n"] == pytest.approx(100 - 2.335 * 0.79057, abs=0.01)


def test_known_scatter() -> None:
    """By hand: 100 (1 - 1.802 x 0.08) = 85.58; a scatter far above the stated one is doubted."""
    inputs = {"readings": [92.0, 96, 100, 104, 108], "reading_unit": "N",
              "method": "en-1990-known"}  # fmt: skip
    value = run(inputs, known_variation_ratio=0.08).value
    assert value["characteristic_n"] == pytest.approx(85.58, abs=0.02)
    doubted = run(inputs, known_variation_ratio=0.02)
    remedy = finding(doubted, "known-scatter-doubted").remedy
    assert remedy.patch == {"method": "en-1990-unknown"}
    assert "known-scatter-doubted" not in codes(run(inputs, known_variation_ratio=0.08))


def test_single_ends_count_for_less() -> None:
    """The same readings from single ends: the 2.53 % value, lower than the 5 % value."""
    ends = run(DEMO, tested="single-end").value
    assert ends["fraction_ratio"] == pytest.approx(0.0253, abs=5e-5)
    assert ends["characteristic_n"] < run(DEMO).value["characteristic_n"]


def test_three_tests_are_too_few() -> None:
    """The finding says what is missing, with the factor."""
    result = run({"readings": [9.1, 9.8, 10.4]})
    assert codes(result)["few-tests"] == "watch"
    message = finding(result, "few-tests").message
    assert message.startswith("3 tests are too few: factor 3.15 on the scatter.")
    assert "7 more" in message and "2.10" in message


@pytest.mark.parametrize(
    ("inputs", "missing"),
    [
        ({"readings": [9.0]}, "1 strength cannot"),
        ({"readings": [9.0, 9.5]}, "1 more at least are missing"),
        ({"readings": [9.0, 9.5, 25, 25], "scale_limit": 25}, "2 more held"),
        ({"readings": [], "proofs": [9.0] * 8}, "0 strengths (8 more held"),
    ],
)
def test_fewer_than_three_strengths_are_refused(inputs: dict[str, Any], missing: str) -> None:
    """Two tests cannot show scatter, and proof values are not strengths."""
    with pytest.raises(CannotCalculate) as refusal:
        run(inputs)
    assert refusal.value.pointer == "/readings"
    assert missing in refusal.value.reason and "3.15" in refusal.value.reason


@pytest.mark.parametrize(
    ("changes", "pointer", "words"),
    [
        ({"readings": [9.5] * 6}, "/readings", "too coarse"),
        ({"readings": [1, 9, 2, 8, 30]}, "/readings", "nothing above zero"),
        ({"standing": {"days": [1, 10], "strength": [1, 0.4]}, "standing_days": 365},
         "/standing_days", "nothing is left"),
        ({"reassembly": {"assemblies": [5, 5], "strength": [9, 9.1]}},
         "/reassembly/assemblies", "two different"),
        ({"standing": {"days": [7, 7], "strength": [9, 9.1]}}, "/standing/days", "two different"),
    ],
)  # fmt: skip
def test_what_cannot_be_trusted_is_refused(
    changes: dict[str, Any], pointer: str, words: str
) -> None:
    """No number is made up; the place and the way out are named."""
    with pytest.raises(CannotCalculate) as refusal:
        run(DEMO, **changes)
    assert refusal.value.pointer == pointer and words in refusal.value.reason


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"readings": [9, 8, "9"]}, "/readings/2", "wrong-type"),
        ({"readings": [9, 8, 0]}, "/readings/2", "out-of-range"),
        ({"readings": [9, 8, 26], "scale_limit": 25}, "/readings/2", "out-of-range"),
        ({"reading_unit": "kg"}, "/reading_unit", "out-of-range"),
        ({"method": "en-1990-known"}, "/known_variation_ratio", "missing"),
        ({"partial_factor": "timber-connection", "partial_factor_ratio": 1.2},
         "/partial_factor_ratio", "not-unique"),
        ({"reassembly": {"assemblies": [1, 5], "strength": [9]}}, "/reassembly/strength",
         "out-of-range"),
        ({"standing": {"days": [1, 5], "strength": [9, 8, 7]}}, "/standing/strength",
         "out-of-range"),
        ({"hub": "H18"}, "/hub", "unknown-reference"),
        ({"kit": KIT, "hub": "H99"}, "/hub", "unknown-reference"),
        ({"scale_limits": 25}, "/scale_limits", "unknown-field"),
    ],
)  # fmt: skip
def test_fault_is_named(changes: dict[str, Any], pointer: str, code: str) -> None:
    """One change to valid inputs, one fault."""
    with pytest.raises(InvalidInputs) as faults:
        run(DEMO, **changes)
    assert [(at, fault.code) for at, fault in faults.value.faults] == [(pointer, code)]


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"reassembly": None}, "new-parts-tested"),
        ({"assemblies_count": None}, "assemblies-not-stated"),
        ({"reassembly": {"strength": [9, 9.1, 9.2, 9.3, 9.4]}}, "wear-not-seen"),
        ({"assemblies_count": 60}, "beyond-the-tests"),
        ({"standing_days": 90}, "beyond-the-tests"),
        ({"standing": None}, "standing-not-tested"),
        ({"standing": {"strength": [1, 1.01, 1.02]}}, "standing-loss-not-seen"),
        ({"held_after_slip_ratio": 0.7}, "seat-is-a-detent"),
        ({"proofs": [8, 12]}, "censored-readings"),
        ({"readings": [5, 8, 9, 10, 11, 13, 7, 12, 9, 10, 11, 6]}, "scatter-large"),
        ({"readings": [9, 9.1, 9.2, 9.1, 9, 9.2, 9.1, 9.3, 9, 9.1, 9.2, 14]}, "not-normal"),
        ({"kit": merge_patch(KIT, {"hubs": [merge_patch(KIT["hubs"][0],
                                                         {"tension_n": {"held": 90}})]})},
         "kit-stronger-than-tests"),
    ],
)  # fmt: skip
def test_one_change_brings_one_warning(changes: dict[str, Any], code: str) -> None:
    """Each mistake of the workbench has its own finding, absent in the good series."""
    assert code not in codes(run(DEMO))
    result = run(DEMO, **changes)
    assert codes(result)[code] == "watch" and result.verdict in ("watch", "stop")


def test_gains_are_not_counted() -> None:
    """Joints that seem to grow stronger with use count as they were tested."""
    value = run(DEMO, reassembly={"strength": [9, 9.1, 9.2, 9.3, 9.4]}, standing=None).value
    assert value["design_n"] == value["characteristic_n"]


def test_crooked_series_gets_a_proven_remedy() -> None:
    """Log-normal strengths by construction: the other distribution is offered, and clears it."""
    readings = [9.0 * math.exp(0.4 * norm.ppf((k + 0.5) / 40)) for k in range(40)]
    crooked = run(DEMO, readings=readings, needed_n=None)
    remedy = finding(crooked, "not-normal").remedy
    assert remedy.patch == {"distribution": "log-normal"}
    assert "not-normal" not in codes(run(DEMO, readings=readings, **remedy.patch))
    assert crooked.value["probability_plot"]["better_distribution"] == "log-normal"


def test_remedy_that_does_not_help_is_not_offered() -> None:
    """One wild pull among equals: neither distribution fits, so no patch is promised."""
    readings = [9, 9.1, 9.2, 9.1, 9, 9.2, 9.1, 9.3, 9, 9.1, 9.2, 14]
    assert finding(run(DEMO, readings=readings), "not-normal").remedy is None


def test_needed_strength() -> None:
    """Enough, not yet shown, and never: three different answers, and the count is proven by
    filling the sample up with the same mean and scatter."""
    assert codes(run(DEMO, needed_n=60))["strong-enough"] == "ok"
    short = run(DEMO, needed_n=61)
    count = short.value["count_for_needed_count"]
    assert short.verdict == "stop" and count > 12
    advice = {row["count"]: row["design_n"] for row in run(DEMO).value["sample_advice"]}
    assert all((design >= 61) == (n >= count) for n, design in advice.items())
    never = run(DEMO, needed_n=76)
    assert "count_for_needed_count" not in never.value
    assert "No number of tests" in finding(never, "not-strong-enough").message


def test_partial_factors() -> None:
    """Named or one's own, shown with where it comes from; none is the default."""
    plain_value = run(DEMO, needed_n=None).value
    timber = run(DEMO, partial_factor="timber-connection", needed_n=None).value
    own = run(DEMO, partial_factor_ratio=1.3, needed_n=None).value
    assert timber["design_n"] == own["design_n"] == pytest.approx(plain_value["design_n"] / 1.3)
    assert "EN 1995-1-1" in timber["partial_factor_why"]


@pytest.mark.parametrize(
    ("halves", "names"), [("one-piece", {"held", "free"}), ("held", {"held"}), ("free", {"free"})]
)
def test_result_feeds_the_kit(halves: str, names: set[str]) -> None:
    """Only what was tested changes; the rest of the kit is as it came, and valid again."""
    result = run(DEMO, kit=KIT, hub="H2P", halves=halves)
    fed = plain(result.value["kit"])
    patch = plain(result.value["kit_patch"])
    assert set(patch["tension_n"]) == names
    before = next(hub for hub in KIT["hubs"] if hub["id"] == "H2P")
    after = next(hub for hub in fed["hubs"] if hub["id"] == "H2P")
    assert after == merge_patch(before, patch) != before
    rest = [hub for hub in KIT["hubs"] if hub["id"] != "H2P"]
    assert [hub for hub in fed["hubs"] if hub["id"] != "H2P"] == rest
    again = run(DEMO, kit=fed, hub="H2P", halves=halves)
    assert plain(again.value["kit"]) == fed


def test_without_readings_there_is_a_sheet_and_no_number() -> None:
    """The sheet comes before the tests; nothing that needs tests is in the answer."""
    result = run({"title": "R120"})
    assert codes(result) == {"no-tests-yet": "watch"}
    assert {"design_n", "characteristic_n", "kit_patch"}.isdisjoint(result.value)
    assert result.value["test_sheet"]["tables"][0]["rows"][0][0] == "1"


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.title)
def test_examples_run_and_follow_the_result_schema(example: Any) -> None:
    """Equal inputs give equal bytes, every pointer stands, every member is declared."""
    inputs = CALCULATOR.load(example.inputs)
    result = CALCULATOR.calculate(inputs)
    assert json_bytes(result.value) == json_bytes(CALCULATOR.calculate(inputs).value)
    value = plain(result.value)
    assert set(value) <= set(CALCULATOR.result_schema().fields)
    for each in result.findings:
        for pointer in each.at:
            assert _stands(dict(example.inputs), pointer) or _stands(value, pointer), pointer


def _stands(document: Any, pointer: str) -> bool:
    try:
        resolve(document, pointer)
    except Exception:  # whatever resolve raises, the pointer does not stand
        return False
    return True


def test_table_lists_readings_with_quantiles() -> None:
    """One row a joint, weakest first; proof values without a quantile."""
    inputs = CALCULATOR.load(EXAMPLES[1].inputs)
    table = CALCULATOR.table(inputs, CALCULATOR.calculate(inputs))
    assert len(table.rows) == 10 and all(len(row) == len(table.columns) for row in table.rows)
    gave_way, quantile = table.columns.index("gave_way"), table.columns.index("normal_quantile")
    assert [row[gave_way] for row in table.rows] == [True] * 7 + [False] * 3
    assert [row[quantile] == "" for row in table.rows] == [False] * 7 + [True] * 3
    assert table.rows[0][1] == "/readings/6"


READINGS = st.lists(st.integers(500, 2000), min_size=4, max_size=15, unique=True).map(
    lambda hundredths: [x / 100 for x in hundredths]
)
NUMBERS = ("mean_n", "sd_n", "weakest_n", "log_median_n")


def outcome(inputs: dict[str, Any]) -> list[float] | None:
    """Every number in newtons, or None where the calculation is refused."""
    try:
        value = run(inputs).value
    except CannotCalculate:
        return None
    logs = [each for each in value["estimates"] if "characteristic_n" in each]
    estimates = [each["characteristic_n"] for each in logs]
    return [value["sample"][name] for name in NUMBERS] + estimates + [value["design_n"]]


@settings(deadline=None, max_examples=40)
@given(READINGS, st.sampled_from(["normal", "log-normal"]), st.integers(2, 7))
def test_scaling_readings_scales_results(
    readings: list[float], distribution: str, scale: int
) -> None:
    """Joints twice as strong have twice the characteristic value, by every method."""
    inputs = {"readings": readings, "reading_unit": "N", "distribution": distribution}
    before = outcome(inputs)
    after = outcome({**inputs, "readings": [scale * x for x in readings]})
    assert (before is None) == (after is None)
    if before is not None:
        assert after == pytest.approx([scale * x for x in before], rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(READINGS, st.sampled_from(["lbf", "N"]), st.booleans())
def test_the_unit_changes_nothing(readings: list[float], unit: str, limited: bool) -> None:
    """The same pulls read in kg, in lb or in newtons."""
    each = {"lbf": 0.45359237, "N": 1 / 9.80665}[unit]
    limit = sorted(readings)[-2] if limited and len(readings) > 5 else max(readings)
    shown = [min(x, limit) for x in readings]
    in_kgf = {"readings": shown, "scale_limit": limit}
    other = {"readings": [x / each for x in shown], "scale_limit": limit / each}
    before, after = outcome(in_kgf), outcome({**other, "reading_unit": unit})
    assert (before is None) == (after is None)
    if before is not None:
        assert after == pytest.approx(before, rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(READINGS, st.randoms(use_true_random=False))
def test_order_of_readings_changes_nothing(readings: list[float], random: Any) -> None:
    """Joints have no order."""
    shuffled = list(readings)
    random.shuffle(shuffled)
    before, after = outcome({"readings": readings}), outcome({"readings": shuffled})
    assert (before is None) == (after is None)
    if before is not None:
        assert after == pytest.approx(before, rel=1e-9)


@settings(deadline=None, max_examples=40)
@given(READINGS, st.integers(1, 6))
def test_use_only_takes_away(readings: list[float], more: int) -> None:
    """Longer life never gives a stronger joint, and a design value is never above the
    characteristic one, which is never above the mean."""
    inputs = {**DEMO, "readings": readings, "distribution": "log-normal"}
    new = run(inputs, assemblies_count=1, standing_days=1).value
    used = run(inputs, assemblies_count=more * 6, standing_days=more * 5).value
    assert used["design_n"] <= new["design_n"] <= new["characteristic_n"] < new["sample"]["mean_n"]
