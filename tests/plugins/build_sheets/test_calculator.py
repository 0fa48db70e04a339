"""Faults, frames of every form, and what is the same each time."""

import math
import re
from collections import Counter
from copy import deepcopy
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.build_sheets import BuildSheets
from baywright_plugins.build_sheets.examples import EXAMPLES, KIT
from baywright_service.contract import CannotCalculate, InvalidInputs, svg_text
from baywright_service.envelope import perform
from baywright_service.json_writer import json_bytes
from baywright_service.writers.pdf import Page

TWO = dict(EXAMPLES[0].inputs)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_examples_hold(example: Any, assert_example_holds: Any) -> None:
    assert_example_holds(BuildSheets(), example.inputs)


def test_same_inputs_same_bytes(run: Any) -> None:
    first, second = (json_bytes(run(TWO)[1].value) for _ in range(2))
    assert first == second


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"sheet": "section-attic"}, "/sheet"),
        ({"sections": ["left", "attic"]}, "/sections/1"),
        ({"kinds": ["poster"]}, "/kinds/0"),
        ({"paper": "a5"}, "/paper"),
        ({"bays_per_step_count": 0}, "/bays_per_step_count"),
        ({"sheet": "beam-left-1", "kinds": ["section"]}, "/sheet"),
    ],
)
def test_faults_name_their_place(run: Any, more: Any, pointer: str) -> None:
    with pytest.raises(InvalidInputs) as caught:
        run(TWO, **more)
    assert [place for place, _ in caught.value.faults] == [pointer]


def test_no_sheet_of_the_kinds_asked_for(run: Any) -> None:
    with pytest.raises(CannotCalculate) as caught:
        run(EXAMPLES[3].inputs, kinds=["joint"])
    assert caught.value.pointer == "/kinds"


def test_every_sheet_is_a_page(run: Any) -> None:
    """All of them in one file, as many as the result lists; each drawing true to scale."""
    inputs, result = run(TWO, kinds=["section", "layer", "joint"])
    drawings = BuildSheets().drawings(inputs, result)
    assert [d.title for d in drawings] == [row["title"] for row in result.value["sheets"]]
    assert all(drawing.to_scale for drawing in drawings)
    body = {**TWO, "kinds": ["section", "joint"]}
    content = perform(BuildSheets(), body, (), "pdf", "all", Page(scale="standard")).content
    assert len(re.findall(rb"/Type /Page\b", content)) == 3


def test_only_named_sections(run: Any) -> None:
    _, result = run(TWO, sections=["right"], kinds=["section", "layer", "joint"])
    assert {row["section"] for row in result.value["sheets"] if row["kind"] != "joint"} == {"right"}
    assert sum(row["kind"] == "joint" for row in result.value["sheets"]) == 1


def test_a_frame_without_a_grid(run: Any) -> None:
    """Sheets of the section and its levels; steps hub by hub from below."""
    inputs, result = run(EXAMPLES[3].inputs)
    assert [row["id"] for row in result.value["sheets"]] == [
        "section-frame", "layer-frame-1", "layer-frame-2",
    ]  # fmt: skip
    section, ground, top = result.value["sheets"]
    assert (section["rods_count"], ground["rods_count"], top["rods_count"]) == (6, 3, 0)
    assert svg_text(BuildSheets().draw(inputs, result, "sheet")).startswith("<svg")


def test_hidden_rods_are_not_drawn_twice(run: Any) -> None:
    """From the front a box of one bay shows its front face: 4 rods and its diagonal."""
    rods = {axis: [{"rod": "R120", "count": 1}] for axis in "xyz"}
    layout = {"sections": [{"id": "b", "rods": rods}]}
    inputs, result = run({"kit": KIT, "frame": {"layout": layout}, "kinds": ["section"]})
    drawing = BuildSheets().draw(inputs, result, "sheet")
    of_rods = {entry.ink for entry in drawing.legend if ": R" in entry.text}
    lines = [
        s for s in drawing.shapes if getattr(s, "ink", None) in of_rods and hasattr(s, "pairs")
    ]
    pairs = [pair for shape in lines for pair in shape.pairs]
    assert len(pairs) == 3 * 5
    assert len(set(pairs)) == len(pairs)


def test_no_hub_fits_is_a_stop(run: Any) -> None:
    kit = deepcopy(KIT)
    kit["hubs"][0]["ports"] = kit["hubs"][0]["ports"][:6]
    _, result = run({**TWO, "kit": kit})
    assert result.verdict == "stop"
    assert any(f.code == "no-hub-fits" and "“?”" in f.message for f in result.findings)


def test_bays_too_small_to_read_are_told(run: Any) -> None:
    rods = {axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (90, 1, 1), strict=True)}
    layout = {"sections": [{"id": "long", "rods": rods}]}
    _, result = run({"kit": KIT, "frame": {"layout": layout}})
    (small,) = [f for f in result.findings if f.code == "sheet-too-small"]
    assert small.level == "watch" and small.measure.value < small.measure.limit
    assert small.measure.value == min(r["least_bay_mm"] for r in result.value["sheets"])


def test_more_sheets_than_one_file_holds(run: Any) -> None:
    rods = {axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (1, 1, 170), strict=True)}
    layout = {"sections": [{"id": "mast", "rods": rods}]}
    inputs, result = run({"kit": KIT, "frame": {"layout": layout}})
    with pytest.raises(CannotCalculate, match="at most 150 sheets"):
        BuildSheets().drawings(inputs, result)


@st.composite
def _frames(draw: Any) -> dict[str, Any]:
    count = draw(st.integers(2, 7))
    place = st.sampled_from([0.0, 0.01, 60.0, 120.0, -1e6, 1e6, 33.3])
    nodes = draw(
        st.lists(st.tuples(place, place, place), min_size=count, max_size=count, unique=True)
    )
    ends = [(a, b) for a in range(count) for b in range(a)]
    chosen = draw(st.lists(st.sampled_from(ends), min_size=1, max_size=9, unique=True))
    sections = draw(st.lists(st.sampled_from("pq"), min_size=len(chosen), max_size=len(chosen)))
    return {
        "nodes_mm": [list(node) for node in nodes],
        "members": {
            "start": [a for a, _ in chosen],
            "end": [b for _, b in chosen],
            "rod": ["R120"] * len(chosen),
            "section": sections,
        },
    }


@settings(deadline=None, derandomize=True, max_examples=12)
@given(frame=_frames())
def test_any_frame_gives_sheets_that_add_up(run: Any, frame: Any) -> None:
    """Sections and joints hold every rod once, however the nodes lie; every sheet can be drawn."""
    calculator = BuildSheets()
    inputs, result = run({"kit": KIT, "frame": frame})
    rows = [r for r in result.value["sheets"] if r["kind"] in ("section", "joint")]
    total: Counter[str] = Counter()
    for row in rows:
        total.update(row["rods"])
    assert total == {"R120": len(frame["members"]["start"])}
    for drawing in calculator.drawings(inputs, result):
        svg_text(drawing)
        numbers = [x for s in drawing.shapes for p in getattr(s, "pairs", ()) for q in p for x in q]
        assert np.isfinite(numbers).all()
    assert all(math.isfinite(row["least_bay_mm"]) for row in result.value["sheets"])
