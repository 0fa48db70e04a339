"""Repair crews, causes in common, importance, planned work, spares and the next improvement."""

import copy
import json
import math
from itertools import combinations, product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import null_space
from scipy.stats import poisson

from baywright_plugins.lift_redundancy import LiftRedundancy
from baywright_plugins.lift_redundancy.generator import (
    long_run,
    mean_hours_to_leave,
    rates_of,
    show_of,
)
from baywright_plugins.lift_redundancy.overflow import gathering_after_stop
from baywright_plugins.lift_redundancy.spares import loss_chances, poisson_chances
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch

CALCULATOR = LiftRedundancy()
DATA = Path(__file__).parents[2] / "data"
CASES = {c["id"]: c for c in json.loads((DATA / "published/lift_redundancy.json").read_text())}
MACHINE = json.loads((DATA / "returns-desk" / "lifts.json").read_text("utf-8"))
UNLIKE = {
    "required_balls_per_min": 40,
    "repair_crews_count": 1,
    "lifts": [
        {"id": "slow", "capacity_per_min": 15, "mtbf_h": 8, "mttr_h": 2},
        {"id": "quick", "capacity_per_min": 20, "mtbf_h": 5, "mttr_h": 0.5, "motor": "M"},
        {"id": "wide", "capacity_per_min": 30, "mtbf_h": 12, "mttr_h": 1, "motor": "M"},
    ],
    "shared_causes": [{"id": "M", "mtbf_h": 60, "mttr_h": 1.5}],
    "stations": {"divider_per_min": 60},
    "station_parts": [{"id": "divider", "mtbf_h": 40, "mttr_h": 0.5}],
}


def run(body: dict[str, Any], **changes: Any) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(merge_patch(copy.deepcopy(body), changes)))


def near(case: dict[str, Any], found: float, expected: float) -> None:
    assert found == pytest.approx(expected, **{"rel": 0, "abs": 0, **case["tolerance"]})


def levels(n: int) -> np.ndarray[Any, Any]:
    return np.arange(n + 1).reshape(-1, 1)


@pytest.mark.parametrize("name", [k for k, c in CASES.items() if c["quantity"] == "repair_chain"])
def test_the_chain_solved_level_by_level_gives_the_closed_form(name: str) -> None:
    case = CASES[name]
    n, k, crews = (case["inputs"][key] for key in ("n", "k", "crews"))
    fail, repair = case["inputs"]["failure_rate"], case["inputs"]["repair_rate"]
    rates = rates_of(
        levels(n), np.array([n]), np.array([fail]), np.array([repair]), crews, order=[0]
    )
    near(case, float(long_run(rates)[: n - k + 1].sum()), case["expected"]["availability"])
    enough = levels(n)[:, 0] <= n - k
    near(case, mean_hours_to_leave(rates, enough), case["expected"]["mttf"])


@settings(max_examples=15, deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.1, 10.0)), min_size=2, max_size=4),
    st.integers(1, 3),
    st.booleans(),
)
def test_order_of_mending_equals_the_linear_system_over_all_states(
    units: list[tuple[float, float]], crews: int, given_order: bool
) -> None:
    n = len(units)
    states = np.array(sorted(product((0, 1), repeat=n), key=lambda r: (sum(r), r)))
    index = {tuple(row): k for k, row in enumerate(states.tolist())}
    order = list(range(n - 1, -1, -1)) if given_order else None
    q = np.zeros((len(states), len(states)))
    for k, row in enumerate(states.tolist()):
        hands = crews
        for i in range(n - 1, -1, -1):
            fail, repair = units[i]
            other = tuple([*row[:i], 1 - row[i], *row[i + 1 :]])
            if not row[i]:
                rate = fail
            elif order is None:
                rate = repair * min(1.0, crews / sum(row))
            else:
                rate, hands = repair * min(hands, 1), max(hands - 1, 0)
            q[k, index[other]] += rate
            q[k, k] -= rate
    null = null_space(q.T, rcond=1e-12)[:, 0]
    fail_h, repair_h = np.array(units).T
    rates = rates_of(states, np.ones(n, dtype=int), fail_h, repair_h, crews, order)
    assert long_run(rates) == pytest.approx(null / null.sum(), rel=1e-6, abs=1e-12)


def test_a_show_of_one_lift_follows_the_closed_curve() -> None:
    """A(t) = m/(l+m) + l/(l+m) e^-(l+m)t (MIL-HDBK-338B, from memory), and its mean."""
    fail, repair, hours = 0.5, 2.0, 1.3
    rates = rates_of(levels(1), np.array([1]), np.array([fail]), np.array([repair]), 1)
    show = show_of(rates, np.array([True, False]), hours)
    both, gone = fail + repair, math.exp(-(fail + repair) * hours)
    assert show.end_ratio == pytest.approx(repair / both + fail / both * gone, abs=1e-12)
    mean = repair / both + fail / both**2 * (1 - gone) / hours
    assert show.mean_ratio == pytest.approx(mean, abs=1e-12)
    assert show.never_left_ratio == pytest.approx(math.exp(-fail * hours), abs=1e-12)


def simulated(body: dict[str, Any], hours: float, batches: int) -> tuple[float, float]:
    """Monte Carlo of the machine UNLIKE with one repairer who mends in the order listed:
    mean share of time the flow is met, and half of its 99 percent interval over batches."""
    rng = np.random.default_rng(20)
    parts = [*body["lifts"], *body["shared_causes"], *body["station_parts"]]
    fail = np.array([1 / p["mtbf_h"] for p in parts])
    mend = np.array([1 / p["mttr_h"] for p in parts])
    capacity = [x["capacity_per_min"] for x in body["lifts"]]
    up, shares = [True] * len(parts), []
    for _ in range(batches):
        now = met = 0.0
        while now < hours:
            first = next((i for i, runs in enumerate(up) if not runs), None)
            rate = [fail[i] if up[i] else (mend[i] if i == first else 0.0) for i in range(len(up))]
            stay = min(rng.exponential(1 / sum(rate)), hours - now)
            runs = [up[0], up[1] and up[3], up[2] and up[3]]
            flow = sum(c for c, r in zip(capacity, runs, strict=True) if r) if up[4] else 0
            met += stay * (min(flow, 60) >= body["required_balls_per_min"])
            now += stay
            if now < hours:
                i = int(rng.choice(len(up), p=np.array(rate) / sum(rate)))
                up[i] = not up[i]
        shares.append(met / hours)
    half = 2.58 * float(np.std(shares, ddof=1)) / math.sqrt(batches)
    return float(np.mean(shares)), half


def test_states_gone_through_equal_a_simulation_within_its_interval() -> None:
    mean, half = simulated(UNLIKE, 400.0, 60)
    found = run(UNLIKE, repair_order="listed-first").value["availability"]["with_crews_ratio"]
    assert half < 0.02
    assert abs(found - mean) < half
    alone = run(UNLIKE).value["availability"]["independent_ratio"]
    assert abs(alone - mean) > half  # the interval is tight enough to tell crews from none


def test_the_order_of_mending_changes_the_share() -> None:
    found = {
        order: run(UNLIKE, repair_order=order).value["availability"]["with_crews_ratio"]
        for order in ("shared", "listed-first", "quickest-first", "important-first")
    }
    assert found["important-first"] > found["listed-first"]
    assert len({round(x, 6) for x in found.values()}) >= 3


def test_an_order_without_times_is_refused() -> None:
    lifts = [{"id": "a", "capacity_per_min": 9, "availability_ratio": 0.9}]
    with pytest.raises(CannotCalculate) as caught:
        run({"required_balls_per_min": 5, "lifts": lifts, "repair_order": "listed-first"})
    assert caught.value.pointer == "/repair_order"


def test_importance_by_plain_enumeration() -> None:
    """Second method: all combinations written out, minimal cuts found by trying."""
    value = run(UNLIKE).value
    names = ["slow", "quick", "wide", "M", "divider"]
    share = dict(zip(names, (0.8, 5 / 5.5, 12 / 13, 60 / 61.5, 40 / 40.5), strict=True))

    def works(down: frozenset[str]) -> bool:
        if "divider" in down:
            return False
        off = down | ({"quick", "wide"} if "M" in down else set())
        return sum(c for n, c in (("slow", 15), ("quick", 20), ("wide", 30)) if n not in off) >= 40

    sets = [frozenset(c) for k in range(6) for c in combinations(names, k)]
    weight = {s: math.prod(1 - share[n] if n in s else share[n] for n in names) for s in sets}
    cuts = [s for s in sets if not works(s) and all(works(s - {n}) for n in s)]
    short = sum(weight[s] for s in sets if not works(s))
    for row in value["importance"]:
        name = row["id"]
        fv = sum(weight[s] for s in sets if any(name in cut and cut <= s for cut in cuts)) / short
        hangs = sum(
            weight[s] / share[name]
            for s in sets
            if name not in s and works(s) and not works(s | {name})
        )
        assert row["fussell_vesely_ratio"] == pytest.approx(fv, abs=1e-12)
        assert row["birnbaum_ratio"] == pytest.approx(hangs, abs=1e-12)
        critical = hangs * (1 - share[name])
        assert row["criticality_ratio"] == pytest.approx(critical / short, abs=1e-12)
        assert row["gain_min"] == pytest.approx(critical * 360, abs=1e-9)
    assert [row["rank"] for row in value["importance"]] == [1, 2, 3, 4, 5]


def test_bridge_importance() -> None:
    case = CASES["bridge-birnbaum"]
    value = run(dict(CALCULATOR.examples[4].inputs)).value
    rows = {row["id"]: row["birnbaum_ratio"] for row in value["importance"]}
    for name, expected in case["expected"]["birnbaum"].items():
        near(case, rows[name], expected)
    near(case, value["availability"]["independent_ratio"], case["expected"]["reliability"])


def test_beta_factor() -> None:
    """Both lifts unrepaired over the time (a share of time in place of the chance to last)."""
    case = CASES["beta-factor-10-percent"]
    beta, rate = case["inputs"]["beta"], case["inputs"]["failure_rate_per_h"]
    lifts = [{"id": "x", "count": 2, "capacity_per_min": 1, "mtbf_h": 1 / rate, "mttr_h": 1e5}]
    body = {
        "required_balls_per_min": 1,
        "lifts": lifts,
        "common_cause": {"beta_ratio": beta},
        "hours_per_day_h": 24,
        "repair_crews_count": 3,
    }
    units = {u["id"]: u["availability_ratio"] for u in run(body).value["units"]}
    # unavailability odds are rate x repair time: the split of the rate is seen in them
    odds = {name: (1 - up) / up / 1e5 for name, up in units.items()}
    assert odds["x-1"] == pytest.approx((1 - beta) * rate, rel=1e-9)
    assert odds["common-cause"] == pytest.approx(beta * rate, rel=1e-9)
    hours = case["inputs"]["hours"]
    one, all_at_once = (math.exp(-odds[k] * hours) for k in ("x-1", "common-cause"))
    near(case, all_at_once * (1 - (1 - one) ** 2), case["expected"])


def test_more_in_common_makes_a_spare_lift_worth_less() -> None:
    found = [
        run(MACHINE["changed"], common_cause={"beta_ratio": beta}) for beta in (0.0, 0.05, 0.1, 0.3)
    ]
    shares = [r.value["availability"]["with_crews_ratio"] for r in found]
    assert shares == sorted(shares, reverse=True)
    plain = run(MACHINE["changed"]).value["availability"]["with_crews_ratio"]
    assert shares[0] == pytest.approx(plain, abs=1e-12)
    assert any(f.code == "common-cause-dominates" for f in found[3].findings)


def test_any_two_of_four_may_stop_until_the_lane_is_full() -> None:
    result = run(MACHINE["planned"])
    rows = result.value["may_stop"]
    expected = MACHINE["expected"]["after_failure"]
    stop = expected["four_lifts_two_stop"]["return_lane_overflows_after_s"]
    assert rows[1]["lasts_s"] == pytest.approx(stop, abs=0.05)
    assert rows[3]["lasts_s"] == pytest.approx(expected["all_stop"]["overflows_after_s"], abs=0.05)
    assert "lasts_s" not in rows[0]
    assert [row["sets_count"] for row in rows] == [4, 6, 4, 1]
    text = "Any two of four lifts may stop for 26 seconds before a ball leaves the machine."
    assert rows[1]["statement"] == text
    assert any(f.code == "lifts-may-stop" and text in f.message for f in result.findings)
    roomy = run(MACHINE["planned"], queue={"free_places_count": 1000}).value["may_stop"]
    assert all("lasts_s" not in row for row in roomy)


def test_the_worst_set_of_unlike_lifts_by_trying_each() -> None:
    rates = {"slow": 15.0, "quick": 20.0, "wide": 30.0}
    paths = [(14.0, 0.6), (60.0, 0.4)]
    body = {
        **UNLIKE,
        "paths": [
            {"id": f"p{k}", "transit_s": t, "share_ratio": s} for k, (t, s) in enumerate(paths)
        ],
        "queue": {"free_places_count": 4},
        "lift_transit_s": 20,
    }
    for row in run(body).value["may_stop"]:
        lasts = []
        for out in combinations(rates, row["stopped_count"]):
            left = sum(rate for name, rate in rates.items() if name not in out)
            line = gathering_after_stop(
                40 / 60, min(left, 60) / 60, left / 65, 20.0, paths, free_places=4
            )
            lasts.append(math.inf if line.overflow_s is None else line.overflow_s)
        assert row["sets_count"] == len(lasts)
        assert row["sets_that_overflow_count"] == sum(map(math.isfinite, lasts))
        assert row.get("lasts_s", math.inf) == pytest.approx(min(lasts))


def test_a_lift_out_on_purpose_leaves_a_machine_of_one_less() -> None:
    five = run(MACHINE["changed"]).value
    four = run(MACHINE["planned"]).value["availability"]
    row = five["planned_work"][0]
    assert row["enough"]
    assert row["availability_ratio"] == pytest.approx(four["with_crews_ratio"], abs=1e-12)
    short_now = five["availability"]["minutes_short_with_crews_min"]
    out_h = row["may_be_out_h"]
    more = four["minutes_short_with_crews_min"] - short_now
    assert short_now + out_h / 6 * more == pytest.approx(5.0, abs=1e-9)


def test_planned_work_by_interval() -> None:
    value = run(MACHINE["changed"], maintenance={"duration_h": 0.5, "interval_h": 60}).value
    found, now = value["maintenance"], value["availability"]["with_crews_ratio"]
    out = 5 * 0.5 / 60.5
    with_one = value["planned_work"][0]["availability_ratio"]
    assert found["out_ratio"] == pytest.approx(out)
    assert found["availability_ratio"] == pytest.approx((1 - out) * now + out * with_one)
    rising = found["availability_at_interval_ratio"]
    assert (np.diff(rising) > 0).all() and rising[-1] < now
    shortest = {"duration_h": 0.5, "interval_h": found["shortest_interval_h"]}
    again = run(MACHINE["changed"], maintenance=shortest).value["maintenance"]
    assert again["minutes_short_min"] == pytest.approx(5.0, abs=1e-6)
    short = run(MACHINE["planned"], maintenance={"duration_h": 0.5, "interval_h": 60})
    assert any(f.code == "no-lift-to-spare-for-planned-work" for f in short.findings)
    with pytest.raises(CannotCalculate) as caught:
        run(MACHINE["changed"], maintenance={"duration_h": 10, "interval_h": 20})
    assert caught.value.pointer == "/maintenance/interval_h"


def test_spares_follow_poisson_and_erlang() -> None:
    case = CASES["erlang-b-15"]
    chances = loss_chances(case["inputs"]["load"], 0.5, case["inputs"]["servers"])
    near(case, 1 - chances[case["inputs"]["servers"]], case["expected"])
    many = poisson_chances(37.5, 0.999, 0)
    assert many == pytest.approx(poisson.cdf(range(len(many)), 37.5), abs=1e-12)
    assert many[-1] >= 0.999 > many[-2]
    part = {"id": "motor", "in_machine_count": 5, "mtbf_h": 400, "in_box_count": 1}
    tour = {"running_hours_h": 120, "confidence_ratio": 0.95, "parts": [part]}
    result = run(MACHINE["changed"], tour=tour)
    row = result.value["spares"][0]
    assert row["needed_count"] == int(poisson.ppf(0.95, 1.5))
    assert row["chance_now_ratio"] == pytest.approx(poisson.cdf(1, 1.5))
    assert "too-few-spares" in {f.code for f in result.findings}
    part["renewed_after_h"] = 24
    back = run(MACHINE["changed"], tour=tour).value["spares"][0]
    assert back["counted"] == "each-breakage" and back["needed_count"] < row["needed_count"]


def test_improvements_are_the_study_run_again() -> None:
    """One more lift turns the machine as planned into the one as changed."""
    value = run(MACHINE["planned"]).value
    rows = {row["kind"]: row for row in value["improvements"]}
    changed = run(MACHINE["changed"]).value
    expected = MACHINE["expected"]["lifts"]
    better = rows["one-more-lift"]["availability_ratio"]
    assert better == pytest.approx(changed["availability"]["with_crews_ratio"], abs=1e-12)
    assert round(better, 4) == expected["with_5"]["availability_one_repairer"]
    assert (
        round(value["measures_now"]["minutes_short_min"])
        == expected["with_4"]["minutes_short_in_6_h"]
    )
    two = run(MACHINE["planned"], repair_crews_count=2).value["availability"]
    crews = rows["one-more-repairer"]["minutes_short_min"]
    assert crews == pytest.approx(two["minutes_short_with_crews_min"], abs=1e-9)
    lane = rows["longer-return-lane"]
    assert lane["minutes_saved_min"] == 0.0
    assert lane["spills_per_day"] < value["measures_now"]["spills_per_day"]
    saved = [row["minutes_saved_min"] for row in value["improvements"]]
    assert saved == sorted(saved, reverse=True)


def test_costs_turn_the_ranking() -> None:
    kinds = [row["kind"] for row in run(MACHINE["planned"]).value["improvements"]]
    costs = [{"kind": k, "cost": 5000 if k == kinds[0] else 100} for k in kinds]
    rows = run(MACHINE["planned"], improvement_costs=costs).value["improvements"]
    assert rows[0]["kind"] != kinds[0]
    per = [row["minutes_saved_per_cost"] for row in rows]
    assert per == sorted(per, reverse=True)


def test_a_second_divider_and_motors_of_their_own() -> None:
    rows = {row["kind"]: row for row in run(UNLIKE).value["improvements"]}
    doubled = [{**UNLIKE["station_parts"][0], "count": 2}]  # type: ignore[index]
    second = run(UNLIKE, station_parts=doubled).value
    assert rows["second-station"]["availability_ratio"] == pytest.approx(
        second["availability"]["with_crews_ratio"], abs=1e-12
    )
    assert "divider" not in {p["id"] for p in second["single_points"]}
    assert rows["own-motors-and-supplies"]["minutes_saved_min"] > 0


@pytest.mark.parametrize(
    ("pointer", "changes"),
    [
        ("/station_parts/0/id", {"stations": {"divider_per_min": None, "floor_per_min": 9}}),
        ("/station_parts/0/mttr_h", {"station_parts": [{"id": "divider", "mtbf_h": 4}]}),
        ("/lifts/0/mtbf_h", {"lifts": [{"id": "a", "count": 2, "capacity_per_min": 9}]}),
    ],
)
def test_faults_are_named(pointer: str, changes: dict[str, Any]) -> None:
    changes = {"shared_causes": [], "common_cause": {"beta_ratio": 0.1}, **changes}
    with pytest.raises(InvalidInputs) as caught:
        run(UNLIKE, **changes)
    assert pointer in [place for place, _ in caught.value.faults]


def test_a_return_lane_too_much_to_follow_is_followed_for_few_stops_and_says_so() -> None:
    """No peak is given where only some of the sets of so many lifts were followed."""
    body = {
        "lifts": [
            {"id": f"lift-{k}", "capacity_per_min": 20 + 1.37 * k + 0.11 * k * k} for k in range(11)
        ],
        "required_balls_per_min": 150,
        "lift_transit_s": 1.0,
        "paths": [
            {"id": f"way-{k}", "transit_s": 7.3 + 11.7 * k**1.3, "share_ratio": 0.125}
            for k in range(8)
        ],
        "queue": {"free_places_count": 20},
    }
    calculator = LiftRedundancy()
    result = calculator.calculate(calculator.load(body))
    followed = result.value["states_followed_count"]
    known = [row["stopped_count"] for row in result.value["by_stopped"] if "time_s" in row]
    assert 12 <= followed < len(result.value["states"]) == 2**11
    assert known == list(range(len(known))) and 2 <= len(known) < 11
    assert sum(math.comb(11, stopped) for stopped in known) <= followed
    assert "may_stop" not in result.value
    assert any(f"{followed} of 2048" in sentence for sentence in result.assumptions)
