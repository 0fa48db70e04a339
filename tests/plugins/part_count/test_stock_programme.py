"""The stock programme: the demo machine, and each way parts can come together."""

import json
from typing import Any

import numpy as np
import pytest

from baywright_plugins.frame import frame_of
from baywright_plugins.kit import Kit
from baywright_plugins.part_count import PartCount
from baywright_plugins.part_count.examples import EXAMPLES, KIT
from baywright_plugins.truss_check.handling import Handling, handling_cases
from baywright_plugins.truss_check.section import section_model
from baywright_service.contract import CannotCalculate, InvalidInputs, Result
from tests.plugins.part_count.conftest import DESK, read

EXPECTED = read(DESK / "expected.json")["expected"]
BOX = {"id": "A", "rods": {axis: [{"rod": "R120", "count": 3}] for axis in "xyz"}}
LAYOUT = {"layout": {"title": "box", "sections": [BOX]}}
SMALL = {"kit": KIT, "frame": LAYOUT}
#: The box takes 144 R120, 96 R170 and 64 hubs.
FULL = {"R60": 0, "R85": 0, "R120": 144, "R170": 96, "H18": 64, "H2P": 64, "MID": 0}


def stock(**counts: int) -> dict[str, Any]:
    rows = {**FULL, **counts}
    return {"counts": [{"item": item, "on_hand_count": n} for item, n in rows.items()]}


def supply(result: Result, item: str) -> Any:
    rows = result.value["programme"]["supplies"]
    return next(row for row in rows if row["item"] == item)


def codes(result: Result) -> dict[str, str]:
    return {finding.code: finding.level for finding in result.findings}


@pytest.fixture(scope="module")
def changed(count: Any, desk_inputs: Any) -> Result:
    body = desk_inputs("changed")
    return count(body, programme={}, gravity_m_s2=9.81)  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def planned(count: Any, desk_inputs: Any) -> Result:
    return count(desk_inputs("planned"), programme={})  # type: ignore[no-any-return]


def test_positions_light_enough_follow_from_the_frame(changed: Result) -> None:
    """The demo machine's 254, 257, 257 and 238 R170, computed by an independent program: pressed
    with at most 4 c / (1.5 L) / 1.65 = 11.4 N in each of ten handling cases."""
    rows = [r for r in changed.value["programme"]["light_positions"] if r["rod"] == "R170"]
    expected = EXPECTED["parts_changed_plan"]["positions_light_enough"]
    assert {row["section"]: row["light_positions_count"] for row in rows} == expected
    for row in rows:
        assert row["compression_allowed_n"] == pytest.approx(4 * 1200 / (1.5 * 169.6) / 1.65)
        assert row["uncrossed_count"] < row["light_positions_count"]


def test_changed_plan_is_mended_by_pairs(changed: Result) -> None:
    """R170 is 36 short: 72 R85 and 36 mid-hubs, of which 14 and 24 are left; nothing to buy."""
    programme, expected = changed.value["programme"], EXPECTED["parts_changed_plan"]
    r170 = supply(changed, "R170")
    assert r170["needed_count"] == expected["R170_needed"]
    assert r170["needed_count"] - r170["built_in_count"] == expected["R170_short"]
    assert supply(changed, "R85")["left_count"] == expected["R85_left"]
    assert supply(changed, "MID")["left_count"] == expected["MID_left"]
    assert supply(changed, "R85")["built_in_count"] == 64 + 72
    assert programme["changes_count"] == 36 and programme["purchases"] == []
    assert programme["proven_best"] and programme["gap_ratio"] == 0
    assert codes(changed)["stock-mended"] == "ok" and codes(changed)["all-there"] == "ok"
    rods = sum(r["built_in_count"] for r in programme["supplies"] if r["kind"] == "rod")
    assert rods == expected["total_rods"] and 2 * rods == expected["snaps"]


def test_planned_is_one_rod_and_twelve_hubs_short(planned: Result) -> None:
    """44 short, 43 covered, one still to buy, and twelve hubs."""
    expected = EXPECTED["parts_plan"]
    r170 = supply(planned, "R170")
    assert r170["needed_count"] == expected["R170_needed"]
    assert r170["needed_count"] - r170["on_shelf_count"] == expected["R170_short"]
    covered = [r for r in planned.value["programme"]["changes"] if r["what"] == "pair"]
    assert len(covered) == expected["covered_by_substitution"]
    bought = {row["item"]: row["count"] for row in planned.value["programme"]["purchases"]}
    assert bought == {"R170": expected["still_short"], "H2P": expected["hubs_short"]}
    assert codes(planned)["parts-to-buy"] == "watch"
    assert codes(planned)["weak-as-stated"] == "watch"
    assert "short-of-parts" not in codes(planned)


def test_without_buying_what_is_missing_stops(count: Any, desk_inputs: Any) -> None:
    result = count(desk_inputs("planned"), programme={"may_buy": False})
    assert result.verdict == "stop" and codes(result)["still-short"] == "stop"
    assert supply(result, "R170")["still_short_count"] == EXPECTED["parts_plan"]["still_short"]
    assert supply(result, "H2P")["still_short_count"] == EXPECTED["parts_plan"]["hubs_short"]
    assert result.value["programme"]["missing_count"] == 13


def test_changed_sections_are_solved_again(changed: Result, desk_inputs: Any) -> None:
    """Each case of S4 by dense elimination, with pairs as springs in series written out here:
    the same first-slip factors, and the same compression in every pair."""
    (row,) = changed.value["programme"]["strength"]
    assert row["section"] == "S4" and row["changes_count"] == 36
    body = PartCount().load({**desk_inputs("changed"), "gravity_m_s2": 9.81})
    kit = Kit.from_inputs(body["kit"])
    frame = frame_of(body["frame"], kit)
    part = frame.part(3)
    model = section_model(part, kit, gravity_m_s2=9.81, buckling_margin=1.5)
    members = np.flatnonzero(frame.section == 3).tolist()
    pairs = {members.index(c["member"]): c for c in changed.value["programme"]["changes"]}
    area = np.pi * 16.0
    soft = 2 * (84.8 / (12000 * area) + 2 / 250.0)
    stiffness, compression = model.stiffness_n_per_mm.copy(), model.compression_n.copy()
    weight = model.weight_n.copy()
    for member in pairs:
        stiffness[member], compression[member] = 1 / soft, 4 * 1200 / (1.5 * 169.6)
        for node in (part.start[member], part.end[member]):
            weight[node] += (2 * 2.31 + 6 - 5.34) / 2000 * 9.81
    away = part.nodes_mm[part.end] - part.nodes_mm[part.start]
    unit = away / np.sqrt((away**2).sum(axis=1))[:, None]
    matrix = np.zeros((3 * len(part.nodes_mm), len(unit)))
    for axis in range(3):
        matrix[3 * part.start + axis, np.arange(len(unit))] = -unit[:, axis]
        matrix[3 * part.end + axis, np.arange(len(unit))] = unit[:, axis]
    pressed = np.zeros(len(unit))
    for case, told in zip(handling_cases(part, Handling()).cases, row["cases"], strict=True):
        assert case.id == told["id"]
        whole = (matrix * stiffness) @ matrix.T + np.diag(case.spring_n_per_mm.ravel())
        force = stiffness * (matrix.T @ np.linalg.solve(whole, case.loads_n(weight).ravel()))
        used = np.maximum(force / model.tension_n, -force / compression).max()
        assert told["changed_factor"] == pytest.approx(1 / used, rel=1e-5)
        pressed = np.maximum(pressed, -force)
    for member, change in pairs.items():
        assert change["compression_n"] == pytest.approx(pressed[member], abs=1e-5)
        assert change["compression_n"] <= change["compression_allowed_n"]


def test_a_weak_box_bears_so_many_pairs_and_no_more(count: Any) -> None:
    """Loaded so that cases fall short as stated: the most pairs that keep 98 % of every factor are
    found, and one more would not; what they cannot cover is bought."""
    heavy = {**BOX, "fittings": [{"mass_kg": 60, "levels": [0]}]}
    body = {"kit": KIT, "frame": {"layout": {"sections": [heavy]}}}
    result = count(body, stock=stock(R170=12, R85=200, MID=100), programme={})
    programme = result.value["programme"]
    light = next(r for r in programme["light_positions"] if r["rod"] == "R170")
    pairs = [row for row in programme["changes"] if row["what"] == "pair"]
    assert 0 < len(pairs) < light["uncrossed_count"]
    (refused,) = [f for f in result.findings if f.code == "changes-refused"]
    assert f"A holds with {len(pairs)} changes, not with {len(pairs) + 1}." in refused.message
    assert all(row["compression_n"] <= row["compression_allowed_n"] + 1e-9 for row in pairs)
    assert supply(result, "R170")["bought_count"] == 96 - 12 - len(pairs)
    (row,) = programme["strength"]
    for case in row["cases"]:
        needed = min(case["required_factor"], 0.98 * case["as_stated_factor"])
        assert case["changed_factor"] >= needed - 1e-9
    assert codes(result)["weak-as-stated"] == "watch"


def test_dearer_pairs_are_not_built(count: Any) -> None:
    """R170 costs 0.11: pairs are built while one costs less beside its parts from the shelf."""
    shelf = stock(R170=86, R85=100, MID=50)
    for pair_cost, pairs in ((0.10, 10), (0.12, 0)):
        result = count(SMALL, stock=shelf, programme={"pair_cost": pair_cost})
        assert result.value["programme"]["changes_count"] == pairs
        assert supply(result, "R170")["bought_count"] == 10 - pairs


def test_packs_are_bought_whole_and_cheapest(count: Any) -> None:
    """10 R170 are missing: one pack of 4 and one of 6 for 3.0 beat three of 4 for 3.6."""
    offers = [
        {"item": "R170", "pieces_count": 4, "price": 1.2},
        {"item": "R170", "pieces_count": 6, "price": 1.8, "most_packs_count": 1},
    ]
    result = count(SMALL, stock=stock(R170=86), programme={"offers": offers})
    lines = result.value["programme"]["purchases"]
    assert [(r["packs_count"], r["count"], r["total"]) for r in lines] == [(1, 4, 1.2), (1, 6, 1.8)]
    assert result.value["programme"]["purchase_total"] == pytest.approx(3.0)
    assert lines[0]["why"] == "96 built in; 86 from the shelf"


def test_longer_rods_are_cut_down(count: Any) -> None:
    """R120 (100 mm) from R170 (149.6 mm): one each; and nothing is sawn unless allowed."""
    shelf = stock(R120=140, R170=104)
    plain = count(SMALL, stock=shelf, programme={})
    assert supply(plain, "R120")["bought_count"] == 4
    sawn = count(SMALL, stock=shelf, programme={"sawing": {}})
    (cut,) = sawn.value["programme"]["cuts"]
    assert (cut["source"], cut["count"], cut["pieces"]["R120"]) == ("R170", 4, 1)
    assert cut["offcut_mm"] == pytest.approx(149.6 - 100 - 2 - 40 - 2, abs=1e-9)
    assert cut["pieces"]["R60"] == 1
    assert supply(sawn, "R120")["sawn_count"] == 4 and sawn.value["programme"]["purchases"] == []
    assert any("mitre box" in caution.text for caution in sawn.cautions)


def test_missing_rods_are_never_sawn_from_missing_ones(count: Any) -> None:
    """Nothing on the shelf, nothing to buy: everything is missing, nothing is sawn or paired."""
    empty = {"counts": [{"item": "H18", "on_hand_count": 64}]}
    result = count(SMALL, stock=empty, programme={"may_buy": False, "sawing": {}})
    assert result.value["programme"]["cuts"] == [] and result.value["programme"]["changes"] == []
    assert result.value["programme"]["missing_count"] == 144 + 96


def test_raw_dowel_is_sawn_and_bought(count: Any) -> None:
    """12 R170 of 149.6 mm and a kerf of 2 mm: 6 from a metre, so two dowels, one of them bought."""
    bar = {
        "id": "dowel", "length_mm": 1000, "diameter_mm": 8, "on_hand_count": 1, "price": 0.6
    }  # fmt: skip
    programme = {"sawing": {"rods_may_be_cut": False, "bars": [bar]}}
    result = count(SMALL, stock=stock(R170=84), programme=programme)
    (cut,) = result.value["programme"]["cuts"]
    assert (cut["source"], cut["count"], cut["pieces"]["R170"]) == ("dowel", 2, 6)
    (line,) = result.value["programme"]["purchases"]
    assert (line["item"], line["count"], line["total"]) == ("dowel", 1, 0.6)


def test_two_kits_and_two_shelves_are_one_supply(count: Any) -> None:
    """Two boxes of one kit and one of another: parts add up by id, the dearer shelf is last."""
    body = {
        "kit": KIT,
        "more_kits": [{"id": "other", "kit": {**KIT, "title": "bought later"}}],
        "machines": [
            {"id": "pair", "frame": LAYOUT, "count": 2},
            {"id": "odd", "frame": LAYOUT, "kit": "other"},
        ],
        "stock": stock(R120=400, R170=288, H18=192, H2P=192),
        "more_shelves": [{"id": "cellar", "piece_cost": 0.01, "stock": stock(R120=100)}],
        "programme": {"ways": []},
    }
    result = count(body)
    row = supply(result, "R120")
    assert row["needed_count"] == 3 * 144
    assert row["shelves"] == {"shelf": 400, "cellar": 32} and row["bought_count"] == 0
    assert result.value["programme"]["cost"] == pytest.approx(0.32)
    part = next(r for r in result.value["parts"] if r["item"] == "R120")
    assert part["sections"] == {"pair": 288, "odd": 144}
    assert result.value["totals"]["hubs_count"] == 3 * 64
    assert {r["id"] for r in result.value["sections"]} == {"pair.A", "odd.A"}


def test_changes_are_shared_out_among_copies(count: Any) -> None:
    """Five copies, twelve pairs: two copies take three, three take two; each is solved again."""
    body = {"kit": KIT, "machines": [{"id": "m", "frame": LAYOUT, "count": 5}]}
    shelf = stock(R120=720, R170=5 * 96 - 12, H18=320, H2P=320, R85=24, MID=12)
    result = count({**body, "stock": shelf})
    assert result.value["programme"]["changes_count"] == 12
    by_copies: dict[tuple[int, ...], list[Any]] = {}
    for row in result.value["programme"]["changes"]:
        by_copies.setdefault(tuple(int(k) for k in row["copies"]), []).append(row)
    per_copy = [sum(k in copies for copies, rows in by_copies.items() for _ in rows)
                for k in range(1, 6)]  # fmt: skip
    assert sorted(per_copy) == [2, 2, 2, 3, 3]
    assert sum(r["copies_count"] for r in result.value["programme"]["strength"]) == 5


def test_spares_for_a_tour(count: Any) -> None:
    """96 R170, 2 of 1000 break in a show, 10 shows: 1.92 expected, 4 spares are enough at 95 %."""
    breakage = {
        "shows_count": 10,
        "parts": [
            {"item": "R170", "broken_per_1000_pieces_per_show": 2},
            {"item": "R120", "share_ratio": 0.05},
        ],
    }
    result = count(SMALL, stock=stock(R170=98), programme={"breakage": breakage})
    rows = {row["item"]: row for row in result.value["programme"]["reserve"]}
    assert rows["R170"]["expected_breakages"] == pytest.approx(1.92)
    assert rows["R170"]["reserve_count"] == 4 and rows["R120"]["reserve_count"] == 8
    assert supply(result, "R170")["bought_count"] == 2
    assert supply(result, "R120")["bought_count"] == 8
    line = next(r for r in result.value["programme"]["purchases"] if r["item"] == "R170")
    assert line["why"] == "96 built in and 4 spares; 98 from the shelf"
    short = count(SMALL, stock=stock(), programme={"breakage": breakage, "may_buy": False})
    assert codes(short)["spares-short"] == "watch" and "still-short" not in codes(short)


def test_salvage_takes_the_quickest_groups_that_cover(count: Any) -> None:
    """20 R170 and 10 hubs missing: the box of both for 9 min beats two bags for 5 min each."""

    def bag(name: str, minutes: float, **parts: int) -> dict[str, Any]:
        rows = [{"item": item, "count": n} for item, n in parts.items()]
        return {"id": name, "dismantle_min": minutes, "parts": rows}

    shelf = stock(R170=76, H18=54, H2P=0)
    old = {
        "id": "old", "usable_ratio": 1,
        "groups": [bag("rods", 5, R170=20), bag("hubs", 5, H18=10), bag("box", 9, R170=20, H18=10)],
    }  # fmt: skip
    options = {"ways": [], "salvage": [old]}
    result = count(SMALL, stock=shelf, programme=options)
    (row,) = result.value["programme"]["salvage"]
    assert (row["group"], row["covers"]) == ("box", {"R170": 20, "H18": 10})
    assert codes(result)["salvage-first"] == "ok"
    worn = count(
        SMALL, stock=shelf, programme={"ways": [], "salvage": [{**old, "usable_ratio": 0.5}]}
    )
    assert worn.value["programme"]["dismantle_min"] == 19
    order = [r["order_count"] for r in worn.value["programme"]["salvage"]]
    assert order == [1, 2, 3]
    dear = count(SMALL, stock=shelf, programme={**options, "minute_cost": 100})
    assert dear.value["programme"]["salvage"] == []
    assert supply(dear, "R170")["bought_count"] == 20


def test_an_old_machine_as_a_frame_gives_sections(count: Any) -> None:
    """The old box has 96 R170, 86 of them still good at 90 %, and 240 rods at 0.1 min each."""
    old = {"id": "old", "frame": LAYOUT}
    result = count(SMALL, stock=stock(R170=10), programme={"ways": [], "salvage": [old]})
    (row,) = result.value["programme"]["salvage"]
    assert row["gives"]["R170"] == 86 and row["covers"] == {"R170": 86}
    assert row["dismantle_min"] == pytest.approx(240 * 0.1)


def test_spare_diagonals_are_left_out_where_strength_allows(count: Any) -> None:
    """Four R170 missing and no parts for pairs: diagonals go, every case keeps its factor."""
    shelf = stock(R170=92)
    result = count(SMALL, stock=shelf, programme={"ways": ["leave-out"]})
    programme = result.value["programme"]
    gone = [row for row in programme["changes"] if row["what"] == "left-out"]
    assert len(gone) == 4 and programme["purchases"] == []
    for row in programme["strength"]:
        assert all(c["changed_factor"] >= c["required_factor"] for c in row["cases"])
    assert codes(result)["diagonals-left-out"] == "ok"


def test_another_pattern_needs_other_rods_and_hubs(count: Any) -> None:
    """A crossed box takes twice the side diagonals; singles from the shelf hold as well."""
    crossed = {**BOX, "side_faces": {"default": "crossed"}}
    body = {"kit": KIT, "frame": {"layout": {"sections": [crossed]}}}
    options = {"ways": ["patterns"], "patterns": ["alternating"]}
    result = count(body, stock=stock(), programme=options)
    assert supply(result, "R170")["needed_count"] > 100
    assert supply(result, "R170")["built_in_count"] == 96
    assert result.value["programme"]["purchases"] == []


def test_hubs_are_exchanged_where_ports_and_locks_allow(count: Any) -> None:
    """With no two-part hub to be had one-piece hubs stand everywhere; the other way round the
    nodes that only take one piece are missing."""
    one_piece = count(SMALL, stock=stock(H18=64, H2P=0), programme={"may_buy": False})
    assert one_piece.value["programme"]["missing_count"] == 0
    two_part = count(SMALL, stock=stock(H18=0, H2P=64), programme={"may_buy": False})
    only = two_part.value["hub_kinds"]["one_piece_needed_count"]
    assert 0 < only == two_part.value["programme"]["missing_count"]
    assert supply(two_part, "H18")["still_short_count"] == only


def test_stated_light_positions_and_compressions_decide(count: Any, desk_inputs: Any) -> None:
    light = [{"section": "S2", "light_positions_count": 10, "rod": "R170"}]
    few = count(desk_inputs("changed"), light_positions=light, programme={})
    assert few.value["programme"]["changes_count"] == 10
    assert {row["section"] for row in few.value["programme"]["changes"]} == {"S2"}
    none = count(SMALL, stock=stock(R170=94, R85=20, MID=10), programme={},
                 member_compression_n=[50.0] * 240)  # fmt: skip
    assert none.value["programme"]["changes_count"] == 0
    assert supply(none, "R170")["bought_count"] == 2


def test_an_explicit_frame_has_no_known_loads(count: Any) -> None:
    frame = {
        "nodes_mm": [[0, 0, 0], [120, 0, 0], [0, 120, 0]],
        "members": {"start": [0, 0, 1], "end": [1, 2, 2], "rod": ["R120", "R120", "R170"]},
    }
    body = {"kit": KIT, "frame": frame, "stock": stock(R170=0, R85=9, MID=9), "programme": {}}
    unknown = count(body)
    assert unknown.value["programme"]["changes_count"] == 0
    assert codes(unknown)["loads-unknown"] == "watch"
    known = count(body, member_compression_n=[0.0, 0.0, 1.0])
    assert known.value["programme"]["changes_count"] == 1
    (mended,) = [f for f in known.findings if f.code == "stock-mended"]
    assert mended.level == "watch"


@pytest.mark.parametrize(
    ("pointer", "code", "change"),
    [
        ("/machines", "not-unique", {"machines": [{"id": "m", "frame": LAYOUT}]}),
        ("/programme/offers/0/item", "unknown-reference",
         {"programme": {"offers": [{"item": "R171", "price": 1}]}}),
        ("/programme/breakage/parts/0/item", "unknown-reference",
         {"programme": {"breakage": {"parts": [{"item": "R171", "share_ratio": 0.1}]}}}),
        ("/programme/breakage/parts/0/share_ratio", "missing",
         {"programme": {"breakage": {"parts": [{"item": "R170"}]}}}),
        ("/programme/salvage/0/groups", "missing", {"programme": {"salvage": [{"id": "old"}]}}),
        ("/programme/salvage/0/kit", "unknown-reference",
         {"programme": {"salvage": [{"id": "old", "frame": LAYOUT, "kit": "x"}]}}),
        ("/programme/sawing/bars/0/id", "not-unique",
         {"programme": {"sawing": {"bars": [{"id": "R60", "length_mm": 9, "diameter_mm": 8}]}}}),
        ("/more_kits/0/kit", "not-unique",
         {"programme": {}, "more_kits": [{"id": "b", "kit": {**KIT, "rods": [
             {**KIT["rods"][0], "pitch_mm": 61.0}, *KIT["rods"][2:]]}}]}),
        ("/programme/ways/0", "out-of-range", {"programme": {"ways": ["glue"]}}),
    ],
)  # fmt: skip
def test_each_fault_is_named(pointer: str, code: str, change: dict[str, Any]) -> None:
    calculator = PartCount()
    with pytest.raises(InvalidInputs) as refused:
        calculator.calculate(calculator.load({**SMALL, **change}))
    assert [(where, fault.code) for where, fault in refused.value.faults] == [(pointer, code)]


@pytest.mark.parametrize(
    ("pointer", "machine"),
    [
        ("/machines/0/kit", {"kit": "none"}),
        ("/machines/0/accessories/0/item", {"accessories": [{"item": "R61", "count": 1}]}),
        ("/machines/0/accessories/0/section",
         {"accessories": [{"item": "R60", "count": 1, "section": "B"}]}),
    ],
)  # fmt: skip
def test_faults_of_machines(pointer: str, machine: dict[str, Any]) -> None:
    calculator = PartCount()
    body = {"kit": KIT, "machines": [{"id": "m", "frame": LAYOUT, **machine}]}
    with pytest.raises(InvalidInputs) as refused:
        calculator.calculate(calculator.load(body))
    assert [where for where, _ in refused.value.faults] == [pointer]


def test_a_programme_beside_an_assembly_is_refused() -> None:
    body = {"assembly": {"tree": {"a": {"b": 1}}, "top": "a"}, "programme": {}}
    with pytest.raises(InvalidInputs) as refused:
        PartCount().load(body)
    assert [where for where, _ in refused.value.faults] == ["/programme"]


def test_counts_and_spares_too_large_are_refused(count: Any) -> None:
    tour = {
        "shows_count": 10_000,
        "parts": [{"item": "R120", "broken_per_1000_pieces_per_show": 1000}],
    }
    many = [{"item": "R120", "count": 9_000_000}]
    with pytest.raises(CannotCalculate) as refused:
        count(SMALL, accessories=many, programme={"breakage": tour})
    assert refused.value.pointer == "/programme/breakage"
    machine = {"id": "m", "frame": LAYOUT, "count": 50, "accessories": many}
    with pytest.raises(CannotCalculate) as refused:
        count({"kit": KIT, "machines": [machine]})
    assert refused.value.pointer == "/machines"


def test_the_table_says_where_each_part_comes_from(count: Any) -> None:
    calculator = PartCount()
    body = {**SMALL, "stock": stock(R170=86, R85=8, MID=4), "programme": {}}
    inputs = calculator.load(body)
    table = calculator.table(inputs, calculator.calculate(inputs))
    rows = {row[0]: dict(zip(table.columns, row, strict=True)) for row in table.rows}
    assert rows["R170"]["replaced_by_pairs_count"] == 4
    assert rows["R170"]["bought_count"] == 6 and rows["R170"]["from_shelf_count"] == 86
    assert rows["R170"]["why"] == "92 built in; 86 from the shelf"


def test_equal_requests_give_equal_bytes_and_pictures_name_what_changes(changed: Result) -> None:
    example = EXAMPLES[-1]
    calculator = PartCount()
    inputs = calculator.load(example.inputs)
    result = calculator.calculate(inputs)
    drawing = calculator.draw(inputs, result, "substitutes")
    assert "members changed" in drawing.description
    assert [item.text.split(":")[0] for item in drawing.legend][0] == "stays as it is"
    stock_words = calculator.draw(inputs, result, "stock").description
    for row in result.value["programme"]["supplies"]:
        assert f"{row['item']}: {row['from_shelf_count']} of {row['on_shelf_count']}" in stock_words
    assert json.dumps(result.findings[0].message)
