"""The calculator as a whole: examples, faults, findings, drawings, table."""

import json
from typing import Any

import pytest

from baywright_plugins.part_count import PartCount
from baywright_plugins.part_count.examples import EXAMPLES, KIT
from baywright_service.contract import CannotCalculate, InvalidInputs, Polygon, Segments, svg_text
from baywright_service.fields import flatten_faults

CALCULATOR = PartCount()
BOX = {"id": "A", "rods": {axis: [{"rod": "R120", "count": 3}] for axis in "xyz"}}
SMALL = {"kit": KIT, "frame": {"layout": {"title": "box", "sections": [BOX]}}}


def stock(**counts: int) -> dict[str, Any]:
    rows = [{"item": item, "on_hand_count": number} for item, number in counts.items()]
    return {"counts": rows}


PLENTY = dict(R60=500, R85=500, R120=500, R170=500, H18=100, H2P=100)


@pytest.mark.parametrize("example", EXAMPLES, ids=[example.title for example in EXAMPLES])
def test_examples_give_results_that_follow_the_schema(example: Any) -> None:
    """Valid, equal bytes twice, and drawn in every view."""
    inputs = CALCULATOR.load(example.inputs)
    result = CALCULATOR.calculate(inputs)
    text = json.dumps(result.value, sort_keys=True, allow_nan=False)
    _, faults = flatten_faults(CALCULATOR.result_schema(), json.loads(text))
    assert faults == []
    again = CALCULATOR.calculate(CALCULATOR.load(example.inputs))
    assert json.dumps(again.value, sort_keys=True) == text
    for view in CALCULATOR.views:
        drawing = CALCULATOR.draw(inputs, result, view)
        assert svg_text(drawing) == svg_text(CALCULATOR.draw(inputs, again, view))


@pytest.mark.parametrize(
    ("pointer", "code", "change"),
    [
        ("/frame", "missing", {"frame": None, "kit": KIT}),
        ("/kit", "missing", {"kit": None}),
        ("/assembly", "not-unique", {"assembly": {"tree": {"a": {"b": 1}}, "top": "a"}}),
        (
            "/accessories/0/item",
            "unknown-reference",
            {"accessories": [{"item": "R61", "count": 1}]},
        ),
        (
            "/accessories/0/section",
            "unknown-reference",
            {"accessories": [{"item": "R60", "count": 1, "section": "B"}]},
        ),
        ("/bag_sizes/H19", "unknown-reference", {"bag_sizes": {"H19": 5}}),
        (
            "/light_positions/0/rod",
            "unknown-reference",
            {"light_positions": [{"section": "A", "rod": "X", "light_positions_count": 1}]},
        ),
        ("/member_compression_n", "out-of-range", {"member_compression_n": [1.0]}),
        ("/build/floor_min", "out-of-range", {"build": {"first_bay_min": 2, "floor_min": 3}}),
        ("/reserve_ratio", "out-of-range", {"reserve_ratio": 1.5}),
        ("/pieces_per_bag", "out-of-range", {"pieces_per_bag": 0}),
        ("/stok", "unknown-field", {"stok": {}}),
    ],
)
def test_each_fault_is_named(pointer: str, code: str, change: dict[str, Any]) -> None:
    """One change to a valid body, one fault with its place and code."""
    body = {k: v for k, v in {**SMALL, **change}.items() if v is not None}
    with pytest.raises(InvalidInputs) as refused:
        CALCULATOR.calculate(CALCULATOR.load(body))
    assert [(where, fault.code) for where, fault in refused.value.faults] == [(pointer, code)]


@pytest.mark.parametrize(
    ("pointer", "code", "assembly"),
    [
        ("/assembly/top", "unknown-reference", {"tree": {"cart": {"wheel": 4}}, "top": "card"}),
        ("/assembly/tree/a/b", "cycle", {"tree": {"a": {"b": 1}, "b": {"a": 1}}, "top": "a"}),
        ("/assembly/tree/a", "out-of-range", {"tree": {"a": {"b": 0}}, "top": "a"}),
    ],
)
def test_faults_of_an_assembly(pointer: str, code: str, assembly: Any) -> None:
    with pytest.raises(InvalidInputs) as refused:
        CALCULATOR.calculate(CALCULATOR.load({"assembly": assembly}))
    ((where, fault),) = refused.value.faults
    assert where.startswith(pointer) and fault.code == code


def test_accessories_beside_an_assembly_are_refused() -> None:
    """They would be lost: the tree names every part."""
    body = {**EXAMPLES[2].inputs, "kit": KIT, "accessories": [{"item": "R60", "count": 1}]}
    with pytest.raises(InvalidInputs) as refused:
        CALCULATOR.load(body)
    assert [where for where, _ in refused.value.faults] == ["/accessories"]


def test_a_rod_without_length_is_refused(count: Any) -> None:
    members = {"start": [0, 0], "end": [2, 1], "rod": ["R120", "R120"]}
    nodes = [[0, 0, 0], [0, 0, 0], [120, 0, 0]]
    with pytest.raises(CannotCalculate) as refused:
        count({"kit": KIT, "frame": {"nodes_mm": nodes, "members": members}})
    assert refused.value.pointer == "/frame/members/end/1"


def test_counts_beyond_exact_numbers_are_refused(count: Any) -> None:
    tree = {f"a{k}": {f"a{k + 1}": 1_000_000} for k in range(4)}
    with pytest.raises(CannotCalculate) as refused:
        count({"assembly": {"tree": tree, "top": "a0"}})
    assert refused.value.pointer == "/assembly/units"


def test_a_full_shelf_is_good_news(count: Any) -> None:
    result = count(SMALL, stock=stock(**PLENTY))
    assert result.verdict == "ok"
    (good,) = [f for f in result.findings if f.code == "all-on-the-shelf"]
    assert good.level == "ok"


def test_no_stock_is_said(count: Any) -> None:
    result = count(SMALL)
    assert "stock-not-given" in [f.code for f in result.findings]
    assert "on_hand_count" not in result.value["parts"][0]
    assert "substitutions" not in result.value


def test_an_unknown_part_on_the_shelf_is_a_watch(count: Any) -> None:
    result = count(SMALL, stock=stock(**PLENTY, R12O=40))
    (odd,) = [f for f in result.findings if f.code == "unknown-stock-item"]
    assert odd.level == "watch" and "Did you mean R120?" in odd.message
    assert odd.at == ("/stock/counts/6/item",)


def test_an_item_without_stand_in_stops(count: Any) -> None:
    """Balls cannot be made of anything else."""
    result = count(
        SMALL,
        stock=stock(**PLENTY, **{"ball-48": 40}),
        accessories=[{"item": "ball-48", "count": 48}],
    )
    (short,) = [f for f in result.findings if f.code == "short-of-parts"]
    assert short.level == "stop" and "buy 8" in short.message.lower()
    assert short.measure is not None and (short.measure.value, short.measure.limit) == (48, 40)


def test_reserved_pieces_are_not_free(count: Any) -> None:
    """100 on hand of which 30 are promised: 70 free."""
    shelf = stock(**PLENTY)
    shelf["counts"][2] = {"item": "R120", "on_hand_count": 150, "reserved_count": 30}
    result = count(SMALL, stock=shelf)
    row = next(r for r in result.value["parts"] if r["item"] == "R120")
    assert (row["on_hand_count"], row["free_count"]) == (150, 120)
    assert row["short_count"] == row["needed_count"] - 120


def test_spares_that_are_missing_are_a_watch(count: Any) -> None:
    """A shelf that holds what is needed and no more has no spares."""
    needed = count(SMALL).value["counts"]
    result = count(SMALL, stock=stock(**needed), reserve_ratio=0.1)
    watched = {f.message.split(":")[0] for f in result.findings if f.code == "reserve-not-covered"}
    assert watched == set(needed)
    row = next(r for r in result.value["parts"] if r["item"] == "R120")
    assert row["reserve_count"] == -(-row["needed_count"] // 10)


def test_bags_are_packed_by_section(count: Any) -> None:
    """Two sections with 10 rods each in bags of 15 are two bags, not one and a third."""
    sections = [BOX, {**BOX, "id": "B", "at_mm": [1000, 0, 0]}]
    body = {"kit": KIT, "frame": {"layout": {"sections": sections}}}
    result = count(body, pieces_per_bag=100, bag_sizes={"R120": 500})
    rows = {r["item"]: r for r in result.value["parts"]}
    assert rows["R120"]["bags_count"] == 2
    for row in rows.values():
        size = 500 if row["item"] == "R120" else 100
        assert row["bags_count"] == sum(-(-n // size) for n in row["sections"].values())


def test_accessories_count_where_they_belong(count: Any) -> None:
    accessories = [
        {"item": "R60", "count": 7, "section": "A"},
        {"item": "R60", "count": 4},
        {"item": "floor-tile", "count": 20, "section": "A"},
    ]
    result = count(SMALL, accessories=accessories)
    rows = {r["item"]: r for r in result.value["parts"]}
    assert rows["R60"]["sections"] == {"A": 7} and rows["R60"]["accessories_count"] == 4
    assert rows["R60"]["needed_count"] == 11
    (section,) = result.value["sections"]
    assert section["accessories_mass_kg"] == pytest.approx((7 * 1.43 + 20 * 9) / 1000)


def test_cost_is_pieces_times_price(count: Any) -> None:
    result = count(SMALL)
    prices = {part["id"]: part["price"] for part in (*KIT["rods"], *KIT["hubs"])}
    expected = sum(number * prices[item] for item, number in result.value["counts"].items())
    assert result.value["totals"]["cost"] == pytest.approx(expected)


def test_frames_without_a_grid_have_no_build_time_unless_bays_are_stated(count: Any) -> None:
    frame = {
        "nodes_mm": [[0, 0, 0], [120, 0, 0]],
        "members": {"start": [0], "end": [1], "rod": ["R120"]},
    }
    body = {"kit": KIT, "frame": frame}
    assert "build" not in count(body).value
    assert count(body, build={"bays_count": 4}).value["build"]["bays_count"] == 4


def test_a_hard_push_asks_for_a_tool(count: Any) -> None:
    result = count(SMALL, build={"snap_push_n": 60})
    (thumbs,) = [f for f in result.findings if f.code == "thumb-work"]
    assert "pushing tool" in thumbs.message
    assert thumbs.measure is not None and thumbs.measure.limit == 45


def test_table_has_a_column_for_each_section_and_sums_up() -> None:
    """Header with unit suffixes; each row's places add up to what is needed."""
    inputs = CALCULATOR.load(EXAMPLES[1].inputs)
    table = CALCULATOR.table(inputs, CALCULATOR.calculate(inputs))
    assert table.columns[:5] == ["item", "title", "kind", "P1_count", "P2_count"]
    assert {len(row) for row in table.rows} == {len(table.columns)}
    place = {name: k for k, name in enumerate(table.columns)}
    for row in table.rows:
        places = ("P1_count", "P2_count", "joints_count", "accessories_count")
        assert sum(row[place[name]] for name in places) == row[place["needed_count"]]


def test_shortage_is_hatched_and_as_long_as_it_is() -> None:
    """In the stock view the strokes of R170 start where its free pieces end."""
    inputs = CALCULATOR.load(EXAMPLES[0].inputs)
    result = CALCULATOR.calculate(inputs)
    row = next(r for r in result.value["parts"] if r["item"] == "R170")
    drawing = CALCULATOR.draw(inputs, result, "stock")
    (strokes,) = [shape for shape in drawing.shapes if isinstance(shape, Segments)]
    xs = [x for pair in strokes.pairs for x, _ in pair]
    ys = [y for pair in strokes.pairs for _, y in pair]
    bars = [s for s in drawing.shapes if isinstance(s, Polygon) and s.points[0][1] == min(ys)]
    left = min(x for bar in bars for x, _ in bar.points)
    right = max(x for bar in bars for x, _ in bar.points)
    share = row["free_count"] / row["needed_count"]
    assert min(xs) == pytest.approx(left + share * (right - left))
    assert "buy 12" in drawing.description


def test_assembly_counts_with_its_shelf(count: Any) -> None:
    """Ten lifts: 20 sprocket sets, 40 bearings, 2900 links (280 and one on each hook)."""
    result = count(EXAMPLES[2].inputs)
    assert result.value["counts"] == {
        "sprocket-set": 20, "hook": 100, "chain-link": 2900, "sprocket": 20, "bearing": 40,
        "bolt": 180,
    }  # fmt: skip
    short = count(EXAMPLES[2].inputs, stock=stock(bolt=100, bearing=60))
    messages = [f.message for f in short.findings if f.code == "short-of-parts"]
    assert any(m.startswith("bolt: 180 needed, 100 free, 80 short. Buy 80") for m in messages)
    assert not any("hook" in m for m in messages)


@pytest.mark.parametrize(("diameter_mm", "small"), [(44.45, True), (44.46, False)])
def test_snaps_and_small_balls_call_for_their_warnings(diameter_mm: float, small: bool) -> None:
    """16 CFR 1500.18(a)(17): balls of 1.75 in or less; only balls that are counted."""
    ball = {"id": "ball", "kind": "ball", "mass_g": 40, "diameter_mm": diameter_mm}
    kit = {**KIT, "items": [ball]}
    wide = {**BOX, "rods": {axis: [{"rod": "R120", "count": 9}] for axis in "xyz"}}
    body = {"kit": kit, "frame": {"layout": {"title": "box", "sections": [wide]}}}

    def warned(**more: Any) -> list[str]:
        return [c.text for c in CALCULATOR.calculate(CALCULATOR.load({**body, **more})).cautions]

    assert any("snaps strain thumbs" in text for text in warned())
    assert not any("choke" in text for text in warned())
    counted = warned(accessories=[{"item": "ball", "count": 20}])
    assert any("choke" in text for text in counted) is small
