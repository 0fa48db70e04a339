"""The whole calculator through its contract: findings, remedies, pins, order, proposals, faults."""

import copy
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.level_windows import LevelWindows
from baywright_service.contract import Finding, Result, merge_patch
from baywright_service.envelope import envelope
from baywright_service.registry import Registry

NAME = "level-windows"
CALCULATOR = LevelWindows()
EXAMPLES = LevelWindows.examples


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({NAME: LevelWindows()})


def run(body: Any) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(body))


def finding(result: Result, code: str) -> Finding:
    return next(f for f in result.findings if f.code == code)


def codes(result: Result) -> set[str]:
    return {f.code for f in result.findings}


def gap(name: str, below: str | None, above: str, least: float | None = None,
        most: float | None = None, **more: Any) -> dict[str, Any]:  # fmt: skip
    ends = {"gap_min_mm": least, "gap_max_mm": most}
    given = {key: value for key, value in ends.items() if value is not None}
    where = {"below": below} if below else {}
    return {"id": name, **where, "above": above, "gap": given, **more}


def deck(**changes: Any) -> dict[str, Any]:
    """Floor, shelf and deck on planes at 30, 80, 130 and so on."""
    body = {
        "grid": {"module_mm": 50, "first_plane_mm": 30},
        "levels": [
            {"id": "floor", "title": "Floor", "at_least_mm": 100, "at_most_mm": 300},
            {"id": "shelf", "title": "Shelf"},
            {"id": "deck", "title": "Deck", "at_most_mm": 630},
        ],
        "requirements": [
            gap("lower", "floor", "shelf", 110, 190, title="Ball lift below the shelf"),
            gap("upper", "shelf", "deck", 120, 240, title="Track above the shelf"),
        ],
    }
    return dict(merge_patch(body, changes))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_answer_follows_the_published_schema(
    client: FlaskClient, post: Callable[[str, Any], Any], example: Any
) -> None:
    """The result of every example is what the description promises, byte for byte again."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    answer = post(NAME, example.inputs)
    assert answer.status_code == 200
    Draft202012Validator(page["input_schema"]).validate(example.inputs)
    Draft202012Validator(page["result_schema"]).validate(answer.get_json()["result"])
    assert post(NAME, example.inputs).data == answer.data


def test_pictures_and_rows(client: FlaskClient) -> None:
    """SVG of each view and CSV with units in its header."""
    where = f"/v1/calculators/{NAME}/run"
    for view in LevelWindows.views:
        drawn = client.post(f"{where}?view={view}&format=svg", json=EXAMPLES[0].inputs)
        assert (drawn.status_code, drawn.mimetype) == (200, "image/svg+xml")
    rows = client.post(f"{where}?format=csv", json=EXAMPLES[0].inputs).text.splitlines()
    assert rows[0].startswith("id,title,snapped,low_mm,high_mm,choices_count,free_low_mm")
    assert rows[-1].startswith("tower-top,Top of the tower,false,1903.0,1903.0,,1740.0")


def test_windows_heights_and_order_by_hand() -> None:
    """On paper: the lift is 150 (110 to 190), the track 150 or 200 (120 to 240). So floor 130 to
    280, shelf 280 to 430, deck 430 to 630; lift 40 and track 40 are the most slack there is."""
    value = run(deck()).value
    windows = [(x["low_mm"], x["high_mm"], x["choices_count"]) for x in value["levels"]]
    assert windows == [(130, 280, 4), (280, 430, 4), (430, 630, 5)]
    assert [x["free_low_mm"] for x in value["levels"]] == [100, 210, 330]
    assert [x["height_mm"] for x in value["levels"]] == [180, 330, 530]
    assert value["least_slack_mm"] == 40 and value["most_slack_proven"]
    assert value["total_slack_mm"] == 40 + 40 + 3 * 50 and value["slack_counted_to_mm"] == 50
    first, *rest = value["order"]
    assert first["level"] == "floor" and first["narrowed_by"] == []
    assert "4 heights of the grid" in first["reason"]
    assert all(step["narrowed_by"] for step in rest[:1])
    for step in value["order"]:
        assert step["low_mm"] <= step["height_mm"] <= step["high_mm"]


def test_a_pin_narrows_the_other_windows() -> None:
    """Deck pinned at 480: track 150 or 200, lift 150; the windows before are told beside."""
    value = run(deck(pins=[{"level": "deck", "at_mm": 480}])).value
    windows = [(x["low_mm"], x["high_mm"]) for x in value["levels"]]
    assert windows == [(130, 180), (280, 330), (480, 480)]
    assert [x["before_pins_high_mm"] for x in value["levels"]] == [280, 430, 630]


def test_a_pin_off_the_grid_is_a_conflict_of_its_own() -> None:
    """500 lies between planes: the pin alone conflicts, with the next planes 30 and 20 away."""
    result = run(deck(pins=[{"level": "deck", "at_mm": 500}]))
    (conflict,) = result.value["conflicts"]
    assert (conflict["members_count"], conflict["because_of_grid"]) == (1, True)
    assert result.value["holds_without_grid"] and not result.value["holds"]
    found = finding(result, "heights-conflict")
    assert found.level == "stop" and "480 mm or 530 mm" in found.message
    assert found.at == ("/pins/0",)


def test_a_range_between_planes_is_widened_to_the_nearer_one() -> None:
    """60 to 90 on a grid of 50: 100 costs the same 10 as 50; the first that is proven is told."""
    body = deck(requirements=[gap("x", "floor", "shelf", 60, 90, title="Shelf board")])
    remedy = finding(run(body), "heights-conflict").remedy
    assert remedy is not None and remedy.patch is not None
    assert "100 mm instead of 90 mm" in remedy.message
    assert run(merge_patch(body, remedy.patch)).value["holds"]


def test_rounding_alone_makes_a_conflict() -> None:
    """Two ranges of 60 to 90 hold without the grid of 50; each alone rounds to 100."""
    body = deck(
        levels=[{"id": "floor", "pinned_mm": 30}, {"id": "shelf"}, {"id": "deck"}],
        requirements=[
            gap("a", "floor", "shelf", 60),
            gap("b", "shelf", "deck", 60),
            gap("c", "floor", "deck", None, 190),
        ],
    )
    result = run(body)
    (conflict,) = result.value["conflicts"]
    assert conflict["members_count"] == 3 and conflict["missing_mm"] == 10
    assert "rounding to its planes takes 80 mm" in conflict["words"]
    gives = {m["title"]: m["give_mm"] for m in conflict["members"]}
    assert gives == {"a": 10, "b": 10, "c": 10}
    patch = finding(result, "heights-conflict").remedy
    assert patch is not None and patch.patch is not None
    assert run(merge_patch(copy.deepcopy(body), patch.patch)).value["holds"]


def test_conflicts_that_share_nothing_are_all_told() -> None:
    """Two pairs of levels, each with a contradiction; neither can be cured alone for all."""
    body = {
        "levels": [{"id": x} for x in "abcd"],
        "requirements": [
            gap("ab", "a", "b", 50), gap("ba", "a", "b", None, 40),
            gap("cd", "c", "d", 30), gap("dc", "c", "d", None, 25),
        ],
    }  # fmt: skip
    result = run(body)
    conflicts = result.value["conflicts"]
    assert sorted(c["missing_mm"] for c in conflicts) == [5, 10]
    assert all(not m["cures_all"] for c in conflicts for m in c["members"])
    assert {m["give_mm"] for m in conflicts[0]["members"]} == {conflicts[0]["missing_mm"]}
    assert finding(result, "heights-conflict").remedy is not None


def test_wishes_are_granted_in_their_order() -> None:
    """The first of two that exclude each other is kept, the other is denied by it."""
    wishes = [
        gap("high", None, "deck", 580, title="Deck high", wish=True),
        gap("low", None, "deck", None, 480, title="Deck low", wish=True),
    ]
    for order, kept in ((wishes, "high"), (wishes[::-1], "low")):
        result = run(deck(requirements=[*deck()["requirements"], *order]))
        assert result.value["wishes_kept"] == [kept]
        assert result.verdict == "watch"
        at = finding(result, "wish-denied").at
        assert sorted(at) == ["/requirements/2", "/requirements/3"]


def test_what_is_fixed_is_never_eased() -> None:
    """The lift may give 5 mm, the fixed drops may not."""
    body = copy.deepcopy(dict(EXAMPLES[2].inputs))
    for item in body["requirements"][:2]:
        item["fixed"] = True
    (conflict,) = run(body).value["conflicts"]
    assert [r["at"] for r in conflict["remedies"]] == ["/requirements/2"]
    body["requirements"][2]["fixed"] = True
    result = run(body)
    assert result.value["conflicts"][0]["remedies"] == []
    remedy = finding(result, "heights-conflict").remedy
    assert remedy is not None and remedy.patch is None


EASED = [
    ({"run": {"length_mm": 1000, "slope_min_percent": 10}}, "run/slope_min_percent", 6),
    ({"run": {"fall_min_mm": 100}}, "run/fall_min_mm", 60),
    ({"hook_reach": {"reach_min_mm": 100, "reach_max_mm": 200}}, "hook_reach/reach_min_mm", 60),
    ({"drop_limit": {"drop_min_mm": 100, "drop_max_mm": 200}}, "drop_limit/drop_min_mm", 60),
    ({"lift": {"rise_min_mm": 100}}, "lift/rise_min_mm", 60),
    ({"gap": {"gap_min_mm": 100}}, "gap/gap_min_mm", 60),
    ({"ball_clearance": {"ball_diameter_mm": 50, "margin_mm": 50}}, "ball_clearance/margin_mm", 10),
    ({"module_step": {"modules_count": 10}}, "module_step/modules_count", 6),
]


@pytest.mark.parametrize(("kind", "field", "after"), EASED, ids=lambda x: str(x)[:40])
def test_each_kind_asks_and_gives(kind: dict[str, Any], field: str, after: float) -> None:
    """Each asks for 100 mm; 60 are there; the proven change of one number takes 40 off."""
    body = {
        "grid": {"module_mm": 10},
        "levels": [{"id": "low", "pinned_mm": 0}, {"id": "high", "at_most_mm": 60}],
        "requirements": [{"id": "asked", "below": "low", "above": "high", **kind}],
    }
    result = run(body)
    (conflict,) = result.value["conflicts"]
    assert conflict["missing_mm"] == 40
    eased = next(r for r in conflict["remedies"] if r["field"] == field)
    assert (eased["after"], eased["proven"]) == (after, True)


UPPER = [
    ({"run": {"length_mm": 1000, "slope_max_percent": 6}}, "run/slope_max_percent", 10),
    ({"run": {"fall_max_mm": 60}}, "run/fall_max_mm", 100),
    ({"hook_reach": {"reach_max_mm": 60}}, "hook_reach/reach_max_mm", 100),
    ({"drop_limit": {"drop_max_mm": 60}}, "drop_limit/drop_max_mm", 100),
    ({"lift": {"rise_max_mm": 60}}, "lift/rise_max_mm", 100),
    ({"gap": {"gap_max_mm": 60}}, "gap/gap_max_mm", 100),
    ({"module_step": {"modules_count": 6, "rule": "at-most"}}, "module_step/modules_count", 10),
]


@pytest.mark.parametrize(("kind", "field", "after"), UPPER, ids=lambda x: str(x)[:40])
def test_each_kind_limits_and_gives(kind: dict[str, Any], field: str, after: float) -> None:
    """Each allows 60 mm; 100 are asked; the proven change of one number adds 40."""
    body = {
        "grid": {"module_mm": 10},
        "levels": [{"id": "low", "pinned_mm": 0}, {"id": "high", "at_least_mm": 100}],
        "requirements": [{"id": "asked", "below": "low", "above": "high", **kind}],
    }
    (conflict,) = run(body).value["conflicts"]
    assert conflict["missing_mm"] == 40
    eased = next(r for r in conflict["remedies"] if r["field"] == field)
    assert (eased["after"], eased["proven"]) == (after, True)


def test_door_gives_its_trolley_but_never_itself() -> None:
    """2000 - 15 - 20 - 100 - 30 = 1835 allowed, 1900 asked: 65 off the trolley or nothing else."""
    door = {"door_height_mm": 2000, "trolley_mm": 100, "lifted_mm": 30, "threshold_mm": 20}
    body = {
        "levels": [{"id": "top", "at_least_mm": 1900}],
        "requirements": [{"id": "door", "above": "top", "door": door, "title": "Side door"}],
    }
    (conflict,) = run(body).value["conflicts"]
    assert conflict["missing_mm"] == 65
    changed = {r["field"]: r["after"] for r in conflict["remedies"]}
    assert changed == {"door/trolley_mm": 35, "at_least_mm": 1835}


def test_equality_ties_levels_and_keeps_no_slack() -> None:
    """A tied pair moves as one; its slack is not counted."""
    tied = {"id": "tie", "below": "shelf", "above": "board", "equal": {"difference_mm": 7}}
    levels = [*deck()["levels"], {"id": "board", "snapped": False}]
    value = run(deck(levels=levels, requirements=[*deck()["requirements"], tied])).value
    shelf, board = value["levels"][1], value["levels"][3]
    assert board["height_mm"] == shelf["height_mm"] + 7
    assert value["least_slack_mm"] == 40
    assert value["requirements"][2]["slack_mm"] == 0


def test_a_level_beside_its_plane_keeps_its_offset() -> None:
    """Planes at 30, 80, ...; an axis 12 mm above its plane lies at 42, 92, ..."""
    levels = [{"id": "axis", "offset_mm": 12, "at_least_mm": 50, "at_most_mm": 145}]
    (axis,) = run(deck(levels=levels, requirements=[])).value["levels"]
    assert (axis["low_mm"], axis["high_mm"], axis["choices_count"]) == (92, 142, 2)
    assert axis["plane_count"] == (axis["height_mm"] - 42) / 50


@pytest.mark.parametrize(("objective", "heights"), [("lowest", [130, 280, 430]),
                                                    ("highest", [280, 430, 630])])  # fmt: skip
def test_ends_of_windows_are_solutions(objective: str, heights: list[float]) -> None:
    """All levels at their lower ends hold together, and so do the upper ends."""
    value = run(deck(objective=objective)).value
    assert [x["height_mm"] for x in value["levels"]] == heights
    assert all(r["slack_mm"] >= 0 for r in value["requirements"])


def test_open_windows_are_told_and_placed() -> None:
    """A level that nothing holds stands on the first plane; findings say which ends are open."""
    result = run(deck(levels=[{"id": "loose", "title": "Loose shelf"}], requirements=[]))
    (loose,) = result.value["levels"]
    assert "low_mm" not in loose and "high_mm" not in loose
    assert loose["height_mm"] == 30
    assert {"window-open-below", "window-open-above"} <= codes(result)
    assert "Loose shelf" in finding(result, "window-open-above").message


def test_slack_that_is_wanted_and_missed_is_watched() -> None:
    """Lift and track keep 40 of the 45 mm that are wanted."""
    result = run(deck(slack_wanted_mm=45))
    found = [f for f in result.findings if f.code == "slack-below-wanted"]
    assert len(found) == 2 and all(f.measure is not None and f.measure.limit == 45 for f in found)
    assert "slack-below-wanted" not in codes(run(deck(slack_wanted_mm=40)))


def test_a_proposal_is_held_against_everything() -> None:
    """Deck 600 lies on no plane and 320 above the shelf; the next planes are named."""
    proposal = [{"level": "shelf", "at_mm": 280}, {"level": "deck", "at_mm": 600}]
    result = run(deck(proposal=proposal))
    assert result.value["proposal"]["broken"][0]["missing_mm"] == 80
    assert result.value["proposal"]["off_grid"] == [
        {"level": "deck", "plane_below_mm": 580, "plane_above_mm": 630}
    ]
    assert {"proposal-breaks", "proposal-off-grid"} <= codes(result)
    assert result.verdict == "stop"


def test_small_balls_call_for_their_warning() -> None:
    """A ball of 40 mm passes the gauge of 16 CFR 1500.18(a)(17); one of 48 mm does not."""

    def told(diameter: float) -> tuple[bool, bool]:
        clearance = {"ball_diameter_mm": diameter}
        item = {"id": "ball", "below": "floor", "above": "shelf", "ball_clearance": clearance}
        answer = envelope(CALCULATOR, run(deck(requirements=[item])), ())
        sources = [source["title"] for source in answer["sources"]]
        said = any("choke" in caution for caution in answer["cautions"])
        return said, any("1500.18(a)(17)" in title for title in sources)

    assert told(40) == (True, True) and told(48) == (False, False)


def spoiled(change: Callable[[dict[str, Any]], Any]) -> dict[str, Any]:
    body = copy.deepcopy(deck())
    change(body)
    return body


def first(body: dict[str, Any]) -> dict[str, Any]:
    item: dict[str, Any] = body["requirements"][0]
    return item


FAULTS: list[tuple[str, str, Callable[[dict[str, Any]], Any]]] = [
    ("/levels", "missing", lambda b: b.pop("levels")),
    ("/levels/1/id", "not-unique", lambda b: b["levels"][1].update(id="floor")),
    ("/requirements/0/above", "unknown-reference", lambda b: first(b).update(above="attic")),
    ("/pins/0/level", "unknown-reference",
     lambda b: b.update(pins=[{"level": "attic", "at_mm": 1}])),
    ("/proposal/0/level", "unknown-reference",
     lambda b: b.update(proposal=[{"level": "attic", "at_mm": 1}])),
    ("/requirements/0/below", "out-of-range", lambda b: first(b).update(below="shelf")),
    ("/requirements/0/gap/gap_max_mm", "out-of-range",
     lambda b: first(b)["gap"].update(gap_max_mm=1)),
    ("/requirements/0/gap/gap_min_mm", "missing", lambda b: first(b)["gap"].clear()),
    ("/requirements/0/gap", "missing", lambda b: first(b).pop("gap")),
    ("/requirements/0/gap", "not-unique", lambda b: first(b).update(run={"fall_min_mm": 1})),
    ("/requirements/0/run/length_mm", "missing",
     lambda b: (first(b).pop("gap"), first(b).update(run={"slope_min_percent": 1}))),
    ("/requirements/0/run/fall_min_mm", "not-unique",
     lambda b: (first(b).pop("gap"), first(b).update(
         run={"length_mm": 9, "slope_min_percent": 1, "fall_min_mm": 1}))),
    ("/requirements/0/below", "out-of-range",
     lambda b: (first(b).pop("gap"), first(b).update(door={"door_height_mm": 2000}))),
    ("/grid", "missing", lambda b: (b.pop("grid"), b["levels"][0].update(snapped=True))),
    ("/grid", "missing", lambda b: (b.pop("grid"), first(b).pop("gap"),
                                    first(b).update(module_step={"modules_count": 1}))),
    ("/grid/module_mm", "out-of-range", lambda b: b["grid"].update(module_mm=0)),
    ("/requirements", "too-many",
     lambda b: b.update(requirements=[gap(f"w{k}", None, "deck", k, wish=True)
                                      for k in range(51)])),
]  # fmt: skip


@pytest.mark.parametrize(("pointer", "code", "spoil"), FAULTS)
def test_fault_is_named(
    post: Callable[[str, Any], Any],
    faults_of: Callable[[Any], list[tuple[str, str]]],
    pointer: str,
    code: str,
    spoil: Callable[[dict[str, Any]], Any],
) -> None:
    """One change to a valid body, one fault named."""
    answer = post(NAME, spoiled(spoil))
    assert answer.status_code == 422
    assert faults_of(answer) == [(pointer, code)]
