"""Bills of materials and learning curves against published tables."""

from typing import Any

import pytest

from baywright_plugins.part_count.bill_of_materials import Circular, explode
from baywright_plugins.part_count.build_hours import build_time, unit_times
from tests.plugins.part_count.conftest import DATA, read

CASES = {case["id"]: case for case in read(DATA / "published" / "cutting_stock_and_parts.json")}
BOMS = [case for case in CASES.values() if case["quantity"] == "bom_explosion"]


@pytest.mark.parametrize("case", BOMS, ids=[case["id"] for case in BOMS])
def test_published_explosions(count: Any, case: Any) -> None:
    """Quantities multiply along each path and sum over all paths."""
    result = count({"assembly": case["inputs"]})
    assert result.value["counts"] == case["expected"]


def test_net_run_uses_the_shelf_level_by_level() -> None:
    """By hand: of 10 carts' 20 axles 5 are there, so 15 are built, of 30 bolts each..."""
    lines = explode({"cart": {"axle": 2, "bolt": 1}, "axle": {"bolt": 2}}, "cart", 10, {"axle": 5})
    got = {line.item: (line.count, line.from_stock_count, line.to_get_count) for line in lines}
    assert got == {"axle": (20, 5, 15), "bolt": (50, 0, 40)}
    assert [line.level for line in lines] == [1, 2]


def test_an_item_in_itself_is_refused() -> None:
    with pytest.raises(Circular) as circle:
        explode({"a": {"b": 1}, "b": {"c": 1}, "c": {"b": 1}}, "a", 1)
    assert set(circle.value.cycle) == {"b", "c"}


def test_cumulative_average_table() -> None:
    """Averages 100, 80, 64, 51.2 h and totals 100, 160, 256, 409.6 h at 80 %."""
    case = CASES["lc-80-cum"]
    first, rate = case["inputs"]["first_unit_h"], case["inputs"]["rate"]
    for units, average, total in zip(
        case["inputs"]["units"], case["expected"]["average_h"], case["expected"]["total_h"],
        strict=True,
    ):  # fmt: skip
        times = unit_times(first, rate, units, model="cumulative-average")
        assert times.sum() == pytest.approx(total, abs=1e-6)
        assert times.mean() == pytest.approx(average, abs=1e-6)


def test_second_unit_tells_the_models_apart() -> None:
    """Cumulative average: the second unit takes 60 % of the first; unit model: 80 %."""
    case = CASES["lc-second"]
    cumulative = unit_times(1.0, case["inputs"]["rate"], 2, model="cumulative-average")
    assert cumulative[1] == pytest.approx(case["expected"]["second_unit_fraction"], abs=1e-9)
    assert unit_times(1.0, 0.8, 2, model="unit")[1] == pytest.approx(0.8)


def test_unit_model_coefficients() -> None:
    """Tenth unit at 80 %: 0.477 of the first, 6.315 in all."""
    case = CASES["lc-unit-80"]
    times = unit_times(1.0, case["inputs"]["rate"], case["inputs"]["unit"], model="unit")
    tolerance = case["tolerance"]["abs"]
    assert times[-1] == pytest.approx(case["expected"]["unit_factor"], abs=tolerance)
    assert times.sum() == pytest.approx(case["expected"]["total_factor"], abs=tolerance)


def test_no_bay_is_quicker_than_the_floor() -> None:
    """At 50 % from 8 min the fourth bay would take 2 min; with a floor of 3 the third is there."""
    time = build_time(4, 8.0, 0.5, 3.0)
    assert time.hours * 60 == pytest.approx(8 + 4 + 3 + 3)
    assert time.floor_from_bay == 3
