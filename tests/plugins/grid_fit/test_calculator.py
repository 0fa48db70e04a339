"""The calculator as a whole: examples, faults by name, findings and proven remedies."""

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from baywright_plugins.grid_fit import GridFit
from baywright_plugins.grid_fit.examples import EXAMPLES, KIT
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch
from baywright_service.envelope import envelope

Json = dict[str, Any]
Run = Callable[[Json], Result]

ROW = [{"rod": "R120", "count": 3}]
LAYOUT = {"sections": [{"id": "A", "rods": {"x": ROW, "y": ROW, "z": ROW}}]}
BODY: Json = {
    "kit": KIT,
    "layout": LAYOUT,
    "passages": [{"id": "door", "width_mm": 900, "height_mm": 2000}],
}


def body(**changes: Any) -> Json:
    return dict(merge_patch(deepcopy(BODY), changes))


def codes(result: Result) -> list[str]:
    return [finding.code for finding in result.findings]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_examples_run_and_repeat(example: Any, run: Run) -> None:
    """Each example runs, the same each time, and gives findings with a verb."""
    first, second = run(dict(example.inputs)), run(dict(example.inputs))
    assert first.value == second.value
    assert first.findings and all(f.message.endswith(".") for f in first.findings)


FAULTS = [
    ({"layout": None, "passages": None}, "", "missing"),
    ({"layout": {"sections": [{**LAYOUT["sections"][0], "rods": {"x": [{"rod": "R99", "count": 1}], "y": ROW, "z": ROW}}]}}, "/layout/sections/0/rods/x/0/rod", "unknown-reference"),  # noqa: E501
    ({"spans": [{"id": "a", "wanted_mm": 0}]}, "/spans/0/wanted_mm", "out-of-range"),
    ({"spans": [{"id": "a", "wanted_mm": 9, "counts": [{"rod": "R1", "count": 2}]}]}, "/spans/0/counts/0/rod", "unknown-reference"),  # noqa: E501
    ({"bays": [{"rods": ["R120", "R7"]}]}, "/bays/0/rods/1", "unknown-reference"),
    ({"bays": [{"rods": ["R120"]}]}, "/bays/0/rods", "out-of-range"),
    ({"loops": [{"id": "l", "steps": [{"rod": "R120", "direction": [1, 1, 1]}] * 2}]}, "/loops/0/steps/0/direction", "out-of-range"),  # noqa: E501
    ({"loops": [{"id": "l", "steps": [{"rod": "R7", "direction": [1, 0, 0]}] * 2}]}, "/loops/0/steps/0/rod", "unknown-reference"),  # noqa: E501
    ({"passages": [{"id": "d", "width_mm": 900}]}, "/passages/0/height_mm", "missing"),
    ({"passages": [{"id": "d", "width_mm": 900, "height_mm": 2000, "leaf_off": True}]}, "/passages/0/leaf_off_width_mm", "missing"),  # noqa: E501
    ({"protrusions": [{"sections": ["B"], "side": "z-plus", "mm": 9}]}, "/protrusions/0/sections/0", "unknown-reference"),  # noqa: E501
    ({"boxes": [{"id": "A", "outside_mm": {"x": 1, "y": 1, "z": 1}}]}, "/boxes/0/id", "not-unique"),
    ({"flush_axes": ["w"]}, "/flush_axes/0", "out-of-range"),
    ({"pasages": []}, "/pasages", "unknown-field"),
    ({"envelope": {"size_mm": {"x": 900, "y": 900, "z": 900}, "rods": ["R7"]}}, "/envelope/rods/0", "unknown-reference"),  # noqa: E501
]  # fmt: skip


@pytest.mark.parametrize(("changes", "pointer", "code"), FAULTS, ids=lambda x: str(x)[:40])
def test_a_fault_is_named(changes: Json, pointer: str, code: str, run: Run) -> None:
    """One change to a valid body, one fault at its place."""
    with pytest.raises(InvalidInputs) as refused:
        run(body(**changes))
    assert (pointer, code) in [(where, fault.code) for where, fault in refused.value.faults]


def test_a_section_laid_on_its_back(run: Run) -> None:
    """Too tall upright, it passes lying: said apart, with the ceiling to stand it up again."""
    result = run(body(passages=[{"id": "hatch", "width_mm": 900, "height_mm": 430}], layout={
        "sections": [{"id": "A", "rods": {"x": ROW, "y": [{"rod": "R120", "count": 2}],
                                          "z": ROW}}]}))  # fmt: skip
    row = result.value["passages"][0]
    assert row["passes"] and not row["upright"] and row["attitude"] == "on-back"
    assert "passes-only-turned" in codes(result)


def test_a_protruding_part_comes_off(run: Run) -> None:
    """The smallest change is to take the handle off, and its patch proves it."""
    given = body(
        protrusions=[{"side": "y-plus", "mm": 60, "title": "handle"}],
        passages=[{"id": "door", "width_mm": 430, "height_mm": 445}],
        layout={"sections": [{"id": "A", "rods": {"x": [{"rod": "R120", "count": 9}], "y": ROW,
                                                  "z": ROW}}]},
    )  # fmt: skip
    result = run(given)
    assert "section-too-wide" in codes(result)
    best = next(c for c in result.value["changes"] if c["kind"] == "part-off")
    assert best["passes"] and best["message"] == "Take the handle off A for carrying."
    after = run(dict(merge_patch(given, best["patch"])))
    assert after.value["passages"][0]["passes"]


def test_two_doors_one_change(run: Run) -> None:
    """Two doors of which one asks for more: the change that clears both is the remedy of both."""
    deep = {"sections": [{"id": "A", "rods": {"x": [{"rod": "R120", "count": 12}],
            "y": [{"rod": "R120", "count": 6}], "z": [{"rod": "R120", "count": 12}]}}]}  # fmt: skip
    doors = [
        {"id": "wide", "width_mm": 760, "height_mm": 2000},
        {"id": "narrow", "width_mm": 560, "height_mm": 2000},
    ]
    given = body(layout=deep, passages=doors)
    result = run(given)
    stops = [f for f in result.findings if f.level == "stop"]
    assert len(stops) == 2
    for finding in stops:
        assert finding.remedy is not None and finding.remedy.patch is not None
        assert finding.remedy.message == "Take two bays out of the depth of A."
        after = run(dict(merge_patch(given, finding.remedy.patch)))
        assert all(row["passes"] for row in after.value["passages"])
    assert result.value["changes"][0]["sticking_count"] == 0


def test_a_tower_too_tall(run: Run) -> None:
    """The height decides: a bay out of the height is the remedy."""
    eight, sixteen = [{"rod": "R120", "count": 8}], [{"rod": "R120", "count": 16}]
    tower = {"sections": [{"id": "T", "rods": {"x": eight, "y": eight, "z": sixteen}}]}
    lift = {"id": "d", "kind": "lift", "width_mm": 1050, "height_mm": 1950, "depth_mm": 1200}
    result = run(body(layout=tower, passages=[lift]))
    finding = next(f for f in result.findings if f.code == "section-too-tall")
    assert finding.remedy is not None
    assert finding.remedy.message == "Take one bay out of the height of T."


def test_a_loop_mended_by_one_rod(run: Run) -> None:
    """An open ring is closed by exchanging one rod; the patch proves it."""
    given = {
        "kit": KIT,
        "loops": [
            {
                "id": "ring",
                "steps": [
                    {"rod": "R120", "direction": [1, 0, 0]},
                    {"rod": "R120", "direction": [0, 1, 0]},
                    {"rod": "R240", "direction": [-1, -1, 0]},
                ],
            }
        ],
    }
    result = run(given)
    finding = result.findings[0]
    assert finding.code == "loop-does-not-close" and finding.remedy is not None
    assert finding.remedy.message == "Exchange R240 for R170 in step 3."
    assert finding.remedy.patch is not None
    assert run(dict(merge_patch(given, finding.remedy.patch))).value["loops"][0]["closes"]


def test_a_span_that_does_not_close(run: Run) -> None:
    """The nearest length is offered, and the shelf is named where more rods would close."""
    given = {
        "kit": KIT,
        "spans": [
            {"id": "s", "wanted_mm": 600, "counts": [{"rod": "R120", "count": 4}], "most_rods": 9}
        ],
    }
    result = run(given)
    assert codes(result) == ["span-does-not-close", "stock-short"]
    remedy = result.findings[0].remedy
    assert remedy is not None and remedy.message == "Make it 480 mm."


def test_an_empty_shelf(run: Run) -> None:
    """No rod at hand is an answer, not a fault."""
    given = {"kit": KIT, "spans": [{"id": "s", "wanted_mm": 600}], "stock": {"counts": []}}
    result = run(given)
    assert result.value["spans"][0]["ways_count"] == 0
    assert codes(result)[0] == "span-does-not-close"


def test_too_many_sums_are_refused(run: Run) -> None:
    """What cannot be counted exactly is refused with the field."""
    rods = [{**KIT["rods"][0], "id": f"R{k}", "pitch_mm": 20 + k * 0.011} for k in range(40)]
    given = {
        "kit": {**KIT, "rods": rods},
        "spans": [{"id": "s", "wanted_mm": 9000, "most_rods": 400}],
    }
    with pytest.raises(CannotCalculate) as refused:
        run(given)
    assert refused.value.pointer == "/spans/0/wanted_mm"


def test_a_kit_without_diagonals(run: Run) -> None:
    """Bays that no rod braces are a stop in a frame."""
    kit = {**KIT, "rods": [rod for rod in KIT["rods"] if rod["id"] == "R120"]}
    result = run({"kit": kit, "layout": LAYOUT})
    finding = next(f for f in result.findings if f.code == "bay-cannot-be-braced")
    assert finding.level == "stop"
    bay = result.value["bays"][0]
    assert bay["bare_faces_count"] == bay["faces_count"] > 0


def test_published_names_are_kept() -> None:
    """Finding codes are a promise: this list only grows."""
    import re
    from pathlib import Path

    folder = Path(__file__).parents[3] / "plugins" / "baywright_plugins" / "grid_fit"
    text = (folder / "findings.py").read_text("utf-8")
    used = set(re.findall(r'"([a-z]+(?:-[a-z]+)+)"', text))
    promised = {
        "section-too-wide", "section-too-tall", "section-too-long", "passes-only-tilted",
        "passes-only-turned", "passes-with-little-to-spare", "corner-too-tight",
        "all-sections-pass", "span-forced", "span-does-not-close", "span-closes", "stock-short",
        "bay-cannot-be-braced", "loop-does-not-close", "loop-closes", "envelope-closes",
        "joint-does-not-match", "envelope-not-braceable",
    }  # fmt: skip
    assert promised <= used
    assert GridFit.cautions[-1].startswith("Planning aid, not a safety certificate")


def test_a_heavy_section_brings_what_lifting_it_calls_for(run: Run) -> None:
    """HSE INDG143, Figure 1: 16 kg for women close to the body; with its source in the answer."""

    def told(kilograms: float) -> tuple[bool, bool]:
        inputs = body()
        inputs["layout"]["sections"][0]["fittings"] = [
            {"title": "Motor", "mass_kg": kilograms, "levels": [0]}
        ]
        answer = envelope(GridFit(), run(inputs), ())
        sources = [source["title"] for source in answer["sources"]]
        said = any(" 16 kg for women" in caution for caution in answer["cautions"])
        return said, any("INDG143" in title for title in sources)

    assert told(0.5) == (False, False) and told(20) == (True, True)
