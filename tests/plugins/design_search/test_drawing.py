"""The pictures ask nothing but the result; their shapes say what they show."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.design_search import DesignSearch
from baywright_plugins.design_search.drawing_scale import kept_apart, scale_of, ticks
from baywright_service.contract import Circle, Drawing, Label, Line, Result, svg_text

Json = dict[str, Any]
Run = Callable[[Json], Result]


@pytest.fixture(scope="module")
def result(run: Run, small: Callable[..., Json]) -> Result:
    stock = {"counts": [{"item": "R120", "on_hand_count": 90}]}
    return run(small(bay_rods=["R120"], stock=stock))


def drawn(result: Result, view: str) -> Drawing:
    calculator = DesignSearch()
    inputs: Any = {}
    return calculator.draw(inputs, result, view)


def texts(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.shapes if isinstance(shape, Label)]


def test_parallel_has_an_axis_an_objective_and_a_line_a_machine(result: Result) -> None:
    """Strong lines for the set, dashed ones for the others; the best value heads its axis."""
    value, drawing = result.value, drawn(result, "parallel")
    lines = [shape for shape in drawing.shapes if isinstance(shape, Line)]
    count = len(value["objectives"])
    across = [line for line in lines if len(line.points) == count]
    strong = [line for line in across if not line.ink.dash]
    thin = [line for line in across if line.ink.dash]
    others = [one for one in value["lost"] if one["reason"] != "infeasible"]
    assert len(strong) == len(value["machines"]) and len(thin) == len(others)
    for row in value["objectives"]:
        assert row["title"] in texts(drawing)
    top = max(y for line in across for _, y in line.points)
    for k, row in enumerate(value["objectives"]):
        best = next(one for one in value["machines"] if one["id"] == row["best_machine"])
        line = strong[value["machines"].index(best)]
        assert line.points[k][1] == pytest.approx(top)
    assert set(texts(drawing)) >= {one["id"] for one in value["machines"]}


def test_scatter_has_a_point_a_machine_under_the_staircase(result: Result) -> None:
    """No point lies beyond the staircase in the better direction (fewer parts, more reserve)."""
    value, drawing = result.value, drawn(result, "scatter")
    points = [shape.centre for shape in drawing.shapes if isinstance(shape, Circle)]
    others = [one for one in value["lost"] if one["reason"] != "infeasible"]
    assert len(points) == len(value["machines"]) + len(others)
    stairs = max(
        (s for s in drawing.shapes if isinstance(s, Line) and s.ink.dash),
        key=lambda line: len(line.points),
    )
    corners = list(stairs.points)
    assert len(corners) == 2 * len(value["scatter"]["machines"]) + 1
    for x, y in points:
        reached = max(cy for cx, cy in corners if cx <= x + 1e-9)
        assert y <= reached + 1e-9


@pytest.mark.parametrize(
    ("across", "up"), [("mass", "build_hours"), ("strength_reserve", "shortage")]
)
def test_any_two_objectives(run: Run, small: Callable[..., Json], across: str, up: str) -> None:
    """The staircase holds machines that none beats in these two; every view is ink."""
    stock = {"counts": [{"item": "R120", "on_hand_count": 90}]}
    body = small(bay_rods=["R120"], stock=stock, scatter={"across": across, "up": up})
    calculator = DesignSearch()
    found = run(body)
    scatter = found.value["scatter"]
    pairs = list(zip(scatter["across_values"], scatter["up_values"], strict=True))
    assert pairs == sorted(pairs) and len(pairs) == len(scatter["machines"])
    for view in calculator.views:
        assert svg_text(drawn(found, view)).startswith("<svg")


def test_nothing_to_see(run: Run, small: Callable[..., Json]) -> None:
    """Where nothing will do, the pictures say so."""
    hatch = [{"id": "hatch", "width_mm": 200, "height_mm": 200}]
    found = run(small(bay_rods=["R120"], passages=hatch))
    for view in DesignSearch.views:
        assert drawn(found, view).shapes == []


def test_one_machine_alone(run: Run, small: Callable[..., Json]) -> None:
    """Scales without a span, one axis: still a picture."""
    found = run(small(objectives=["mass"], most_evaluations=1))
    for view in DesignSearch.views:
        assert svg_text(drawn(found, view))


def test_names_keep_apart() -> None:
    moved = kept_apart([5.0, 5.1, 5.2, 20.0], 2.0)
    assert all(b - a >= 2.0 - 1e-9 for a, b in zip(moved[:-1], moved[1:], strict=True))
    assert sum(moved[:3]) == pytest.approx(15.3) and moved[3] == 20.0


@pytest.mark.parametrize(("low", "high"), [(0, 1), (276, 1184), (1.02, 1.15), (3, 3), (0, 0.0001)])
def test_ticks_are_round_and_on_the_scale(low: float, high: float) -> None:
    scale = scale_of("mass", [{"mass_kg": low}, {"mass_kg": high}])
    found = ticks(scale)
    assert 1 <= len(found) <= 7 and all(low - 1e-9 <= one <= high + 1e-9 for one in found)
