"""Published values, run through the calculator; sources stand beside each case in the data."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.chain_drive import ChainDrive
from baywright_plugins.lift_redundancy.chain import wrap_deg

CALCULATOR = ChainDrive()
DATA = Path(__file__).parents[2] / "data" / "published" / "chain_drive.json"
INCH_MM, POUND_N = 25.4, 4.4482216152605
Case = dict[str, Any]


def cases() -> list[Any]:
    return [pytest.param(row, id=row["id"]) for row in json.loads(DATA.read_text("utf-8"))]


def run(chain: dict[str, Any], **more: Any) -> dict[str, Any]:
    body = {
        "chain": {"pitch_mm": 12.7, "teeth_count": 17, "centre_distance_mm": 1000, **chain},
        **more,
    }
    return dict(CALCULATOR.calculate(CALCULATOR.load(body)).value)


def near(case: Case, value: float, expected: float) -> None:
    tolerance = case["tolerance"]
    if "exact" in tolerance:
        assert value == pytest.approx(expected, rel=1e-12)
    elif "abs" in tolerance:
        assert value == pytest.approx(expected, abs=tolerance["abs"], rel=0)
    else:
        assert value == pytest.approx(expected, rel=tolerance["rel"], abs=0)


def check_length(case: Case) -> None:
    given, expected = case["inputs"], case["expected"]
    loop = run(
        {
            "teeth_count": given["N1"],
            "tail_teeth_count": given["N2"],
            "centre_distance_mm": given["centre_pitches"] * 12.7,
        }
    )["loop"]
    near(case, loop["length_pitches"], expected["length_pitches"])
    assert loop["links_count"] == expected["even_links"]
    near(case, loop["handbook_centre_distance_mm"] / 12.7, expected["centre_for_even_links"])
    # the exact loop differs from the handbook's series by less than a hundredth of a link
    assert loop["exact_length_pitches"] == pytest.approx(expected["length_pitches"], abs=0.02)


def check_diameter(case: Case) -> None:
    inch = INCH_MM if "pitch_in" in case["inputs"] else 1.0
    pitch = case["inputs"].get("pitch_mm", case["inputs"].get("pitch_in")) * inch
    loop = run(
        {
            "pitch_mm": pitch,
            "teeth_count": case["inputs"]["teeth"],
            "centre_distance_mm": 100 * pitch,
        }
    )["loop"]
    outside = case["quantity"] == "sprocket_outside_diameter_in"
    key = "head_outside_diameter_mm" if outside else "head_pitch_diameter_mm"
    near(case, loop[key] / inch, case["expected"])


def check_chordal(case: Case) -> None:
    loop = run({"teeth_count": case["inputs"]["teeth"]})["loop"]
    near(case, loop["speed_fluctuation_percent"], case["expected"])


def check_offset(case: Case) -> None:
    links = case["inputs"]["links"]
    body = {"chain": {"pitch_mm": 12.7, "teeth_count": 17, "centre_distance_mm": 620}}
    body["chain"]["links_count"] = links
    result = CALCULATOR.calculate(CALCULATOR.load(body))
    assert result.value["loop"]["offset_link"] == case["expected"]["needs_offset_link"]
    assert "odd-links" in {f.code for f in result.findings}


def check_rule(case: Case) -> None:
    """The finding appears just where the wrap falls below what the rule asks for."""
    seen = set()
    for centre in (300, 320, 340, 360, 400):
        chain = {"pitch_mm": 25.4, "teeth_count": 9, "tail_teeth_count": 60}
        body = {"chain": {**chain, "centre_distance_mm": centre}}
        result = CALCULATOR.calculate(CALCULATOR.load(body))
        low = result.value["loop"]["wrap_deg"] < case["expected"]["min_wrap_deg"]
        assert low == ("wrap-too-small" in {f.code for f in result.findings})
        seen.add(low)
    assert seen == {True, False}


def check_wrap(case: Case) -> None:
    given = case["inputs"]
    near(case, wrap_deg((given["N1"], given["N2"]), given["centre_pitches"]), case["expected"])
    loop = run(
        {
            "teeth_count": given["N1"],
            "tail_teeth_count": given["N2"],
            "centre_distance_mm": given["centre_pitches"] * 12.7,
            "links_count": 115,
        }
    )["loop"]
    assert loop["wrap_deg"] == pytest.approx(case["expected"], abs=0.1)


def check_ansi(case: Case) -> None:
    expected = case["expected"]
    found = run(
        {"size": f"ANSI-{case['inputs']['size']}", "pitch_mm": expected["pitch_in"] * INCH_MM},
        hooks={"spacing_links_count": 10, "hooks_per_min": 10},
        ball={"diameter_mm": 48, "mass_kg": 0.05},
        lift={"loaded_height_mm": 800},
    )["torque"]
    near(case, found["breaking_load_n"] / POUND_N, expected["tensile_lbf"])
    near(case, found["printed_working_load_n"] / POUND_N, expected["working_load_lbf"])
    allowed = min(expected["tensile_lbf"] / 8, expected["working_load_lbf"])
    assert found["allowed_pull_n"] / POUND_N == pytest.approx(allowed)


def check_iso606(case: Case) -> None:
    expected = case["expected"]
    found = run(
        {"size": case["inputs"]["size"], "pitch_mm": expected["pitch_mm"]},
        hooks={"spacing_links_count": 10, "hooks_per_min": 10},
        ball={"diameter_mm": 48, "mass_kg": 0.05},
        lift={"loaded_height_mm": 800},
    )["torque"]
    near(case, found["breaking_load_n"] / 1000, expected["tensile_min_kN"])


def check_speed(case: Case) -> None:
    given = case["inputs"]
    hooks = {
        "spacing_links_count": given["teeth"],
        "hooks_per_min": given["rpm"],
    }  # one hook a turn
    chain = {"pitch_mm": given["pitch_mm"], "teeth_count": given["teeth"]}
    motion = run(chain, hooks=hooks)["motion"]
    near(case, motion["chain_speed_mm_s"] / 1000, case["expected"])
    assert motion["shaft_turns_per_min"] == pytest.approx(given["rpm"], rel=1e-12)


def check_power(case: Case) -> None:
    given = case["inputs"]
    torque = run(
        {},
        hooks={"spacing_links_count": 10, "hooks_per_min": 60 * given["balls_per_s"]},
        ball={"diameter_mm": 48, "mass_kg": given["ball_kg"]},
        lift={
            "loaded_height_mm": 1000 * given["lift_m"],
            "efficiency_ratio": given["efficiency"],
        },
    )["torque"]
    near(case, torque["lifting_power_w"], case["expected"])


def check_wear(case: Case) -> None:
    given = case["inputs"]
    loop = run({"pitch_mm": given["pitch_mm"], "links_count": given["links"]})["loop"]
    near(case, loop["new_length_mm"], case["expected"]["new_mm"])
    near(case, loop["replace_length_mm"], case["expected"]["replace_at_mm"])


def check_stack(case: Case) -> None:
    """The chain of tolerances on the last rib, one rib pitch for each equal part."""
    tolerances = case["inputs"]["tolerances_mm"]
    comb = {"rib_pitch_mm": 20, "rib_width_mm": 5, "tooth_width_mm": 5}
    if len(set(tolerances)) == 1:
        steps = len(tolerances)
        comb |= {"ribs_count": steps + 1, "teeth_count": 1, "first_gap": steps - 1}
        comb |= {"rib_pitch_tolerance_mm": tolerances[0]}
    else:
        comb |= {"ribs_count": 2, "rib_pitch_tolerance_mm": tolerances[0]}
        comb |= {
            "hook_place_tolerance_mm": tolerances[1],
            "chain_wander_mm": tolerances[2],
            "sprocket_run_out_mm": tolerances[3],
        }
    row = run({}, comb=comb)["comb"]["clearances"][-1]
    assert row["side"] == "right"
    near(case, row["nominal_mm"] - row["worst_mm"], case["expected"]["worst_mm"])
    near(case, row["nominal_mm"] - row["likely_mm"], case["expected"]["rss_mm"])


CHECKS: dict[str, Callable[[Case], None]] = {
    "chain_length_pitches": check_length,
    "sprocket_pitch_diameter": check_diameter,
    "sprocket_pitch_diameter_in": check_diameter,
    "sprocket_outside_diameter_in": check_diameter,
    "chordal_speed_variation_pct": check_chordal,
    "offset_link_derating": check_offset,
    "centre_distance_rule": check_rule,
    "small_sprocket_wrap_deg": check_wrap,
    "ansi_chain": check_ansi,
    "iso606_chain": check_iso606,
    "chain_speed_m_s": check_speed,
    "lift_power_W": check_power,
    "chain_wear_limit": check_wear,
    "stack": check_stack,
}


@pytest.mark.parametrize("case", cases())
def test_published(case: Case) -> None:
    CHECKS[case["quantity"]](case)
