"""Frames of the user's own: mechanisms in words, own load cases, added diagonals, pictures."""

import copy
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.examples import BEECH_KIT
from baywright_service.contract import Result, Segments, merge_patch, svg_text
from baywright_service.envelope import envelope

Check = Callable[[Any], Result]


def beam(bays: int, **section: Any) -> dict[str, Any]:
    rods = {a: [{"rod": "R120", "count": n}] for a, n in zip("xyz", (bays, 1, 1), strict=True)}
    return {
        "kit": BEECH_KIT,
        "frame": {"layout": {"sections": [{"id": "A", "rods": rods, **section}]}},
        "gravity_m_s2": 9.81,
    }


def spread(bays: int, total_n: float) -> list[dict[str, Any]]:
    places = [[i, j, k] for i in range(bays + 1) for j in (0, 1) for k in (0, 1)]
    return [{"at": place, "n": [0, 0, -total_n / len(places)]} for place in places]


def ends_held(bays: int) -> list[dict[str, Any]]:
    rows = [
        {"at": [i, j, k], "fixed": ["y", "z"]} for i in (0, bays) for j in (0, 1) for k in (0, 1)
    ]
    return [{"at": [0, 0, 0], "fixed": ["x", "y", "z"]}, *rows[1:]]


def test_beam_on_two_ends(check: Check) -> None:
    """Nine bays, 40 N spread over the hubs, every cross face braced: diagonal 11.8 N and chord
    20.1 N computed apart from this project; by hand 12.7 (V/sqrt 2) and 22.5 (M/(2 b))."""
    body = beam(9, cross_faces={"every": 1})
    case = {
        "id": "spread", "section": "A", "weight_factor": 0.0,
        "supports": ends_held(9), "forces": spread(9, 40.0),
    }  # fmt: skip
    result = check(
        {**body, "load_cases": [case], "handling": {"cases": ["stand"]}, "detail": "full"}
    )
    [section] = result.value["sections"]
    [row] = [c for c in section["cases"] if c["id"] == "spread"]
    force = np.abs(row["member_force_n"])
    roles = np.array(["axis"] * (4 * 9 + 4 * 10) + ["diagonal"] * (len(force) - 76))
    assert force[roles == "diagonal"].max() == pytest.approx(11.8, abs=0.05)
    assert force[roles == "axis"].max() == pytest.approx(20.1, abs=0.05)
    assert 18 / np.sqrt(2) == pytest.approx(force[roles == "diagonal"].max(), rel=0.1)
    assert sum(r["n"][2] for r in row["reactions"]) == pytest.approx(40.0)


def test_bare_face_is_named(check: Check, calculator: TrussCheck) -> None:
    """Six bays, one side of bay 3 bare: one mechanism, that face, and a proven patch."""
    body = beam(6, cross_faces={"every": 0}, left_out_diagonals=[[[4, 1, 0], [3, 1, 1]]])
    result = check(body)
    [section] = result.value["sections"]
    assert section["stability"]["mechanisms"] == 1 and section["cases"] == []
    [place] = section["stability"]["places"]
    assert place["words"] == "face y+ of bay (3, 0, 0)"
    assert place["rod"] == "R170"
    [finding] = result.findings
    assert (finding.level, finding.code) == ("stop", "mechanism")
    assert "ace y+ of bay (3, 0, 0)" in finding.message
    assert finding.remedy is not None and finding.remedy.patch is not None
    mended = check(merge_patch(body, finding.remedy.patch))
    assert mended.value["sections"][0]["stability"]["mechanisms"] == 0
    inputs = calculator.load(body)
    drawing = calculator.draw(inputs, result, "mechanism")
    assert "mechanism 1" in drawing.title
    assert any(isinstance(s, Segments) and s.ink.dash for s in drawing.shapes)
    assert "<title" in svg_text(drawing)


@pytest.mark.parametrize(
    ("caps", "count"), [((), 0), (("x_minus",), 1), (("x_minus", "x_plus"), 2)]
)
def test_bare_end_caps(caps: tuple[str, ...], count: int, check: Check) -> None:
    """A free box beam of six bays without diaphragms lozenges at each bare end."""
    faces = {"default": "alternating", **{cap: "none" for cap in caps}}
    result = check(beam(6, cross_faces={"every": 0}, side_faces=faces))
    stability = result.value["sections"][0]["stability"]
    assert stability["mechanisms"] == count
    assert len(stability.get("places", ())) == count


def test_as_many_rods_as_mechanisms(check: Check) -> None:
    """A box with whole sides bare: the greedy choice needs one rod for each mechanism."""
    body: Any = {
        "kit": BEECH_KIT,
        "frame": {
            "layout": {
                "sections": [
                    {
                        "id": "A",
                        "rods": {a: [{"rod": "R120", "count": 4}] for a in "xyz"},
                        "side_faces": {"default": "lean-in", "x_plus": "none", "z_minus": "none"},
                        "cross_faces": {"every": 0},
                    }
                ]
            }
        },
    }
    result = check(body)
    stability = result.value["sections"][0]["stability"]
    assert stability["mechanisms"] == len(stability["places"]) > 3
    [finding] = result.findings
    assert finding.remedy is not None and finding.remedy.patch is not None


def test_supports_that_do_not_hold(check: Check) -> None:
    """Held at one hub only: the section turns, so this case has no forces, the others have."""
    case = {"id": "hung", "section": "A", "supports": [{"at": [0, 0, 0], "fixed": ["x", "y", "z"]}]}
    result = check({**beam(4), "load_cases": [case]})
    assert [f.code for f in result.findings if f.level == "stop"] == ["unstable-without-supports"]
    [section] = result.value["sections"]
    assert "hung" not in [c["id"] for c in section["cases"]]


def test_slim_section_leaves_grip_cases_out(check: Check) -> None:
    """A beam one bay square has no four grips; the answer says so."""
    result = check(beam(4))
    assert any("too slim for four grips" in words for words in result.assumptions)


def test_every_corner(check: Check) -> None:
    """Each grip and each foot in turn: four of each mishap, the first corner's among them."""
    body = copy.deepcopy(beam(4))
    body["frame"]["layout"]["sections"][0]["rods"] = {
        a: [{"rod": "R120", "count": 4}] for a in "xyz"
    }
    one = check({**body, "seek_remedies": False})
    every = check({**body, "seek_remedies": False, "handling": {"every_corner": True}})
    ids = [c["id"] for c in every.value["sections"][0]["cases"]]
    assert sum(name.startswith("foot-touches-first.") for name in ids) == 4
    factor = {c["id"]: c["first_slip_factor"] for s in (one, every)
              for c in s.value["sections"][0]["cases"]}  # fmt: skip
    assert factor["foot-touches-first.1"] == pytest.approx(factor["foot-touches-first"])
    assert factor["grip-let-go-upright.4"] == pytest.approx(factor["grip-let-go-upright"])


def test_explicit_frame(check: Check) -> None:
    """Nodes and members without a grid: stability, and the load cases that are stated."""
    nodes = [[120 * x, 120 * y, 120 * z] for x in (0, 1) for y in (0, 1) for z in (0, 1)]
    pairs = [
        (a, b)
        for a in range(8)
        for b in range(a + 1, 8)
        if bin(a ^ b).count("1") < 3 and (bin(a ^ b).count("1") == 1 or a in (0, 3, 5, 6))
    ]
    frame = {
        "nodes_mm": nodes,
        "members": {
            "start": [a for a, _ in pairs],
            "end": [b for _, b in pairs],
            "rod": ["R120" if bin(a ^ b).count("1") == 1 else "R170" for a, b in pairs],
        },
    }  # fmt: skip
    body: Any = {"kit": BEECH_KIT, "frame": frame}
    bare = check(body)
    assert [f.code for f in bare.findings] == ["no-cases"]
    supports = [{"node": n, "fixed": ["x", "y", "z"]} for n in (0, 2, 4, 6)]
    case = {"id": "stand", "section": "frame", "supports": supports}
    result = check({**body, "load_cases": [case], "detail": "full"})
    [row] = result.value["sections"][0]["cases"]
    weight = result.value["sections"][0]["mass_kg"] * 9.80665
    assert sum(r["n"][2] for r in row["reactions"]) == pytest.approx(weight)
    assert row["governing"]["nodes"]


def test_two_part_hubs_use_the_free_strength(check: Check) -> None:
    """With hubs in two halves and single diagonals the free seat decides: 24 for 60 N."""
    kit = copy.deepcopy(BEECH_KIT)
    body = beam(4)
    whole = check({**body, "seek_remedies": False}).value["first_slip_factor"]
    kit["hubs"][0] |= {"two_part": True, "slides_along": [0, 0, 1]}
    kit["hubs"][0]["tension_n"] = {"held": 60, "free": 24}
    halves = check({**body, "kit": kit, "seek_remedies": False}).value["first_slip_factor"]
    assert halves == pytest.approx(whole * 24 / 60)


def test_structure_remedy_joins_nodes(check: Check) -> None:
    """A square of four bars in a plane: one more bar between opposite corners, proven."""
    body: Any = {
        "structure": {
            "nodes_mm": [[0, 0, 0], [100, 0, 0], [100, 100, 0], [0, 100, 0]],
            "members": {
                "start": [0, 1, 2, 3],
                "end": [1, 2, 3, 0],
                "axial_stiffness_n": [1e5, 1e5, 1e5, 1e5],
            },
            "supports": [
                {"node": 0, "fixed": ["x", "y", "z"]},
                {"node": 1, "fixed": ["y", "z"]},
                {"node": 2, "fixed": ["z"]},
                {"node": 3, "fixed": ["z"]},
            ],
            "load_cases": [{"id": "down", "forces": [{"node": 2, "n": [0, -1, 0]}]}],
        }
    }
    result = check(body)
    [finding] = result.findings
    assert finding.code == "mechanism" and result.value["stability"]["mechanisms"] == 1
    assert finding.remedy is not None and finding.remedy.patch is not None
    mended = check(merge_patch(body, finding.remedy.patch))
    assert mended.value["stability"]["mechanisms"] == 0 and mended.value["load_cases"]


def test_structure_views_and_table(check: Check, calculator: TrussCheck) -> None:
    """A structure is drawn, but no mechanism where there is none; the table has a row for each
    member and case."""
    body = calculator.examples[2].inputs
    inputs = calculator.load(body)
    result = calculator.calculate(inputs)
    empty = [view for view in calculator.views if not calculator.draw(inputs, result, view).shapes]
    assert empty == ["mechanism"]
    table = calculator.table(inputs, result)
    assert table.columns[-1] == "utilisation_ratio" and len(table.rows) == 3


def test_a_heavy_section_brings_what_lifting_it_calls_for(
    check: Check, calculator: TrussCheck
) -> None:
    """HSE INDG143, Figure 1: 16 kg for women close to the body; with its source in the answer."""

    def told(kilograms: float) -> tuple[bool, bool]:
        body = beam(1, fittings=[{"title": "Motor", "mass_kg": kilograms, "levels": [0]}])
        asked = {"handling": {"cases": ["stand"]}, "analyses": ["linear"], "seek_remedies": False}
        answer = envelope(calculator, check({**body, **asked}), ())
        sources = [source["title"] for source in answer["sources"]]
        said = any(" 16 kg for women" in caution for caution in answer["cautions"])
        return said, any("INDG143" in title for title in sources)

    assert told(0.5) == (False, False) and told(20) == (True, True)
