"""The demo machine: its counts were worked out by an independent program from the bracing rule,
the stock and the learning curve alone."""

from typing import Any

import pytest

from baywright_service.contract import Result

PLANNED = {
    "S1": (336, 688, 388, 21.2),
    "S2": (352, 720, 408, 18.1),
    "S3": (352, 720, 408, 18.1),
    "S4": (272, 560, 320, 13.7),
}
CHANGED = {
    "S1": (320, 656, 384, 20.9),
    "S2": (336, 688, 408, 17.8),
    "S3": (336, 688, 408, 17.8),
    "S4": (256, 528, 316, 13.4),
}


@pytest.fixture(scope="module")
def planned(count: Any, desk_inputs: Any) -> Result:
    return count(desk_inputs("planned"))  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def changed(count: Any, desk_inputs: Any) -> Result:
    return count(desk_inputs("changed"))  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def paired(count: Any, desk_inputs: Any) -> Result:
    """The changed machine with pairs in line built in."""
    return count(desk_inputs("changed"), use_substitutes=True)  # type: ignore[no-any-return]


def row(result: Result, item: str) -> Any:
    return next(r for r in result.value["parts"] if r["item"] == item)


def codes(result: Result) -> dict[str, str]:
    return {finding.code: finding.level for finding in result.findings}


@pytest.mark.parametrize(("which", "expected"), [("planned", PLANNED), ("changed", CHANGED)])
def test_hubs_rods_and_mass_of_each_section(
    request: pytest.FixtureRequest, which: str, expected: dict[str, Any]
) -> None:
    """Hubs, R120, R170 and kilograms (to the printed digit) of every section."""
    result = request.getfixturevalue(which)
    for section in result.value["sections"]:
        hubs, axis, diagonal, mass = expected[section["id"]]
        assert section["hubs_count"] == hubs
        assert row(result, "R120")["sections"][section["id"]] == axis
        assert row(result, "R170")["sections"][section["id"]] == diagonal
        assert section["mass_kg"] == pytest.approx(mass, abs=0.05)


def test_changed_counts_in_all(changed: Result) -> None:
    """1248 hubs, 2560 R120, 1516 R170, 328 bays; 16 coupling rods at each of three joints."""
    assert changed.value["totals"]["hubs_count"] == 1248
    assert changed.value["counts"]["R120"] == 2560
    assert changed.value["counts"]["R170"] == 1516
    assert changed.value["totals"]["bays_count"] == 328
    assert row(changed, "R60")["joints_count"] == 48


def test_changed_hub_kinds(changed: Result) -> None:
    """272 nodes need the one-piece hub, 976 can be two-part; the shelf's 300 and 1000 do."""
    kinds = changed.value["hub_kinds"]
    assert kinds["one_piece_needed_count"] == 272
    assert kinds["two_part_possible_count"] == 976
    assert "hubs-short" not in codes(changed)


def test_changed_shortage_and_what_stands_in(changed: Result) -> None:
    """R170 is 36 short; 36 pairs of R85 with a mid-hub leave 14 R85 and 24 mid-hubs."""
    assert row(changed, "R170")["short_count"] == 36
    (way,) = changed.value["substitutions"]
    assert (way["rod"], way["first"], way["second"], way["mid_hub"]) == (
        "R170", "R85", "R85", "MID",
    )  # fmt: skip
    assert way["pairs_count"] == 36
    assert way["first_left_count"] == 14
    assert way["mid_hubs_left_count"] == 24
    assert way["still_short_count"] == 0


def test_pairs_must_be_pressed_with_at_most_eleven_newtons(changed: Result) -> None:
    """4 c / (1.5 L) = 18.87 N, over the required factor of 1.65: 11 N."""
    (way,) = changed.value["substitutions"]
    assert way["compression_limit_n"] == pytest.approx(4 * 1200 / (1.5 * 169.6))
    assert int(way["compression_allowed_n"]) == 11


def test_shortage_that_pairs_cover_is_a_watch_with_a_proven_patch(
    changed: Result, count: Any, desk_inputs: Any
) -> None:
    (short,) = [f for f in changed.findings if f.code == "short-of-parts"]
    assert short.level == "watch"
    assert short.remedy is not None and short.remedy.patch == {"use_substitutes": True}
    assert short.at == ("/stock/counts/3/on_hand_count",)
    again = count(desk_inputs("changed"), **short.remedy.patch)
    assert "short-of-parts" not in codes(again)
    assert codes(again)["all-on-the-shelf"] == "ok"


def test_changed_rods_and_snaps_with_pairs_built_in(paired: Result) -> None:
    """4319 rods, 8638 snaps; 72 R85 and 36 mid-hubs stand for 36 R170."""
    assert paired.value["totals"]["rods_count"] == 4319
    assert paired.value["totals"]["snaps_count"] == 8638
    assert row(paired, "R85")["substitute_count"] == 72
    assert row(paired, "MID")["total_count"] == 36
    assert row(paired, "R170")["total_count"] == 1480
    assert row(paired, "R85")["left_count"] == 14
    assert row(paired, "MID")["left_count"] == 24


def test_build_hours(changed: Result) -> None:
    """328 bays from 9 min at 90 %, none under 3.5 min: 24.0 h; without learning 49.2 h."""
    assert changed.value["build"]["hours"] == pytest.approx(24.0, abs=0.05)
    assert changed.value["build"]["hours_without_learning"] == pytest.approx(49.2)
    assert changed.value["build"]["learning_model"] == "unit"


def test_planned_shortage(planned: Result) -> None:
    """R170 is 44 short, 86 R85 are free: 43 pairs, one rod still missing."""
    assert row(planned, "R170")["needed_count"] == 1524
    assert row(planned, "R170")["short_count"] == 44
    assert row(planned, "R85")["left_count"] == 86
    (way,) = planned.value["substitutions"]
    assert way["pairs_count"] == 43
    assert way["still_short_count"] == 1
    (short,) = [f for f in planned.findings if f.code == "short-of-parts"]
    assert short.level == "stop"
    assert short.remedy is not None and short.remedy.patch is None


def test_planned_hubs_short(planned: Result) -> None:
    """1312 hubs of which the shelf holds 1300: twelve short, and two-part hubs will do."""
    assert planned.value["totals"]["hubs_count"] == 1312
    (short,) = [f for f in planned.findings if f.code == "hubs-short"]
    assert short.level == "stop"
    assert short.measure is not None
    assert (short.measure.value, short.measure.limit) == (1312, 1300)
    assert row(planned, "H2P")["to_buy_count"] == 12
    assert row(planned, "H18")["to_buy_count"] == 0
    assert planned.verdict == "stop"


def test_one_rod_still_short_with_pairs_built_in(count: Any, desk_inputs: Any) -> None:
    result = count(desk_inputs("planned"), use_substitutes=True)
    assert row(result, "R170")["to_buy_count"] == 1
    assert [f.level for f in result.findings if f.code == "short-of-parts"] == ["stop"]


def test_light_positions_bound_the_pairs(count: Any, desk_inputs: Any) -> None:
    """With 10 light positions in S2 and 7 in S4 no more than 17 pairs may stand."""
    light = [
        {"section": "S2", "light_positions_count": 10},
        {"section": "S4", "light_positions_count": 7, "rod": "R170"},
    ]
    both = count(desk_inputs("changed"), light_positions=light)
    assert both.value["substitutions"][0]["pairs_count"] == 17
    assert codes(both)["short-of-parts"] == "stop"
    enough = [
        {"section": name, "light_positions_count": places}
        for name, places in {"S1": 254, "S2": 257, "S3": 257, "S4": 238}.items()
    ]
    known = count(desk_inputs("changed"), light_positions=enough, use_substitutes=True)
    assert known.value["substitutions"][0]["light_positions_count"] == 1006
    assert codes(known)["substitution-covers"] == "ok"


def test_lightest_members_are_chosen_where_compressions_are_known(
    count: Any, desk_inputs: Any
) -> None:
    """Only diagonals at most 11.4 N qualify, lightest first, never on a crossed face."""
    body = desk_inputs("changed")
    members = 4124  # rods of the frame, accessories left out
    compression = [20.0 + k % 7 for k in range(members)]
    free = count(body, member_compression_n=[0.5] * members)
    chosen = [p["member"] for p in free.value["substitute_positions"]]
    assert len(chosen) == 36
    for member in chosen[:5]:
        compression[member] = 11.4 - member / 1e5
    few = count(body, member_compression_n=compression)
    assert {p["member"] for p in few.value["substitute_positions"]} == set(chosen[:5])
    loads = [p["compression_n"] for p in few.value["substitute_positions"]]
    assert loads == sorted(loads)
    assert few.value["substitutions"][0]["light_positions_count"] == 5
    # 72 second diagonals cross 72 others: light enough, but no place for a mid-hub
    assert free.value["substitutions"][0]["light_positions_count"] == 1516
    blocked = count(body, member_compression_n=[11.5] * members)
    assert blocked.value["substitutions"][0]["pairs_count"] == 0
    doubled = {
        frozenset((tuple(a), tuple(b)))
        for section in body["frame"]["layout"]["sections"][:1]
        for a, b in section["second_diagonals"]
    }
    placed = {
        frozenset(tuple(round(x / 120) for x in p[end]) for end in ("from_mm", "to_mm"))
        for p in free.value["substitute_positions"]
        if p["section"] == "S1"
    }
    assert not doubled & placed


def test_many_snaps_ask_for_breaks(changed: Result) -> None:
    (thumbs,) = [f for f in changed.findings if f.code == "thumb-work"]
    assert thumbs.level == "watch"
    assert "8566" in thumbs.message and "120 min" in thumbs.message


def test_mass_in_all_is_the_sum_of_what_is_built_in(paired: Result) -> None:
    """By hand from the kit's masses in grams; fittings 13 + 9.5 + 9.5 + 7 kg."""
    grams = (
        108 * 1.43 + (64 + 72) * 2.31 + 2560 * 3.57 + 1480 * 5.34 + 35 * 7.85 + 1248 * 11 + 36 * 6
    )
    assert paired.value["totals"]["parts_mass_kg"] == pytest.approx(grams / 1000)
    assert paired.value["totals"]["mass_kg"] == pytest.approx(grams / 1000 + 39)
