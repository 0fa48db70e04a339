"""Findings and remedies in the builder's words, each with part, number, limit and a verb."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_service.contract import Result, merge_patch

Json = dict[str, Any]
Run = Callable[[Json], Result]


def one_box(passage: Json, size: tuple[float, float, float], **more: Any) -> Json:
    outside = dict(zip("xyz", size, strict=True))
    return {
        "boxes": [{"id": "case", "outside_mm": outside, **more}],
        "passages": [{"id": "p", "title": "The passage", **passage}],
    }


DOOR = {"width_mm": 800, "height_mm": 2000}
STAIRS = {"flight": {"going_mm": 280, "rise_mm": 170, "width_mm": 1100, "headroom_mm": 2100}}

CASES = [
    (one_box(DOOR, (900, 900, 900)), "section-too-wide", "stop", "116 mm too little"),
    (one_box(DOOR, (700, 900, 1995), keep_upright=True), "section-too-tall", "stop", "high"),
    (one_box({**DOOR, "depth_mm": 1000}, (1200, 700, 1100), keep_upright=True),
     "section-too-long", "stop", "216 mm"),
    (one_box(DOOR, (700, 900, 2400)), "passes-only-turned", "watch", "laid on its"),
    (one_box({"width_mm": 916, "height_mm": 2045}, (2050, 50, 3000)), "passes-only-tilted", "watch",
     "leaning 22 degrees"),
    (one_box(DOOR, (700, 770, 1950)), "passes-with-little-to-spare", "watch", "tape"),
    (one_box({"corner_mm": [1100, 1100]}, (1700, 800, 900), keep_upright=True),
     "corner-too-tight", "stop", "misses"),
    (one_box({"corner_mm": [1200, 1200]}, (1903, 634, 634), keep_upright=True),
     "passes-only-on-skid", "watch", "111.6"),
    (one_box({"corner_mm": [1500, 1500], "ceiling_mm": 1800}, (900, 900, 1790), keep_upright=True),
     "ceiling-too-low", "stop", "35 mm too little"),
    (one_box({"corridors_mm": [1500, 1500, 1500], "legs_mm": [1600]}, (2000, 500, 900),
             keep_upright=True), "corner-too-tight", "stop", "corridor between two corners"),
    (one_box({**DOOR, "before_mm": 800}, (1800, 700, 1500), keep_upright=True),
     "turn-into-door-too-tight", "stop", "passage along the door"),
    (one_box(STAIRS, (1900, 1900, 1900)), "section-too-wide", "stop", "the width leaves 1040 mm"),
    (one_box(STAIRS, (1000, 900, 1800), keep_upright=True), "stairs-too-tight", "stop", "headroom"),
    (one_box(STAIRS, (900, 600, 1400)), "level-on-stairs", "watch", "364.3 mm higher"),
    (one_box({**STAIRS, "landings": [{"turn": "quarter", "length_mm": 1100}]}, (1800, 700, 900)),
     "landing-too-tight", "stop", "cardboard"),
    (one_box({"library": "ada-clear-door"}, (600, 600, 900)), "measure-the-opening", "watch",
     "404.2.3"),
    (one_box({"library": "din-885"}, (600, 600, 900)), "measure-the-opening", "watch",
     "smaller still"),
    (one_box({**DOOR, "ceiling_mm": 2400}, (700, 900, 2300)), "turning-needs-higher-ceiling",
     "stop", "there are 2400 mm"),
    (one_box(DOOR, (700, 900, 2300)), "turning-needs-ceiling", "watch", "Measure the ceiling"),
    (one_box(DOOR, (600, 700, 900)), "all-sections-pass", "ok", "governs"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("body", "code", "level", "words"), CASES, ids=[f"{c[1]}-{k}" for k, c in enumerate(CASES)]
)
def test_finding(body: Json, code: str, level: str, words: str, run: Run) -> None:
    """The finding that the case calls for, at its level, with its numbers."""
    found = [f for f in run(body).findings if f.code == code]
    assert found and found[0].level == level, [f.message for f in run(body).findings]
    assert words in found[0].message
    assert "case" in found[0].message or "It passes" in found[0].message or level == "watch"
    assert found[0].message[-1] == "."


def test_remedies_are_proven(run: Run) -> None:
    """Leaf, hardware and a part: alone none clears all, together they do; each by a re-run."""
    body = {
        "kit": None,
        "boxes": [{"id": "case", "outside_mm": {"x": 900, "y": 770, "z": 1000}}],
        "passages": [
            {"id": "a", "width_mm": 760, "height_mm": 1000, "leaf_off_width_mm": 800},
            {"id": "b", "width_mm": 800, "height_mm": 1060,
             "hardware": [{"side": "left", "projects_mm": 60, "from_mm": 0, "to_mm": 1060,
                           "title": "crash bar", "removable": True}]},
        ],
    }  # fmt: skip
    body.pop("kit")
    result = run(body)
    kinds = {c["kind"]: c for c in result.value["changes"]}
    assert set(kinds) == {"leaf-off", "hardware-off", "all-of-these"} or set(kinds) == {
        "hardware-off", "all-of-these"
    }  # fmt: skip
    for change in result.value["changes"]:
        after = run(merge_patch(body, change["patch"]))
        stuck = {(r["section"], r["passage"]) for r in after.value["passages"] if not r["passes"]}
        assert len(stuck) == change["sticking_count"]
        cleared = {(c["section"], c["passage"]) for c in change["clears"]}
        assert cleared and not cleared & stuck
    remedy = next(f.remedy for f in result.findings if f.at[-1] == "/result/passages/1")
    assert remedy is not None and "crash bar" in remedy.message


def test_a_part_taken_off(desk: Callable[[str], Json], run: Run) -> None:
    """A handle that comes off is the remedy before the venue is asked."""
    body = desk("changed")
    body["passages"] = [{"id": "d", "title": "Door", "width_mm": 680, "height_mm": 1960,
                         "leaf_off_width_mm": 760}]  # fmt: skip
    body["protrusions"].append({"side": "y-minus", "mm": 45, "title": "handle"})
    body["keep_upright"] = ["S1", "S2", "S3", "S4"]
    result = run(body)
    first = result.value["changes"][0]
    assert (first["kind"], first["sticking_count"]) == ("part-off", 0)
    assert first["message"] == "Take off the handle for carrying."
    assert run(merge_patch(body, first["patch"])).value["governing"]["passes"]


def test_many_cases_are_summed_up(run: Run) -> None:
    """Fifty things that stick: forty in words, the rest in one finding."""
    boxes = [{"id": f"b{k}", "outside_mm": {"x": 900 + k, "y": 900, "z": 900}} for k in range(50)]
    found = run({"boxes": boxes, "passages": [{"id": "d", **DOOR}]}).findings
    assert sum(f.code == "section-too-wide" for f in found) == 40
    assert next(f for f in found if f.code == "more-cases-stick").message.startswith("10 more")
