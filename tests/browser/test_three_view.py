"""Frames in three dimensions: turned every way, pulled apart, loaded, folding, in doorways."""

import json
import re
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import requests

from baywright_service.server import RunningServer
from tests.browser.looking import PATIENCE_S, until
from tests.browser.test_accessible import violations

Open = Callable[..., Any]
CHANGED = "#/plans/returns-desk-changed"
FOLDING = "#/calculators/truss-check?example=1"
STAGE = ".three-stage"


def opened(open_page: Open, server: RunningServer, place: str, **options: Any) -> Any:
    """A page with its view in three dimensions open and drawn."""
    page = open_page(server, place, **options)
    page.get_by_role("button", name="Show in 3D").click()
    page.locator(f"{STAGE} canvas").wait_for()
    settled(page)
    return page


def settled(page: Any) -> None:
    """What was asked for is drawn."""
    page.evaluate("() => new Promise((f) => requestAnimationFrame(() => requestAnimationFrame(f)))")


def picture(page: Any) -> bytes:
    """The view without its rim and buttons, so that focus makes no difference."""
    settled(page)
    page.locator(STAGE).scroll_into_view_if_needed()
    box = page.locator(STAGE).bounding_box()
    inner = {"x": box["x"] + 8, "y": box["y"] + 8, "width": box["width"] - 16}
    shot: bytes = page.screenshot(clip={**inner, "height": box["height"] - 120})
    return shot


def at_rest(page: Any) -> bytes:
    """The picture once two of them, a third of a second apart, are the same; what moves by itself
    never comes to that. Something above the view may still be laid out when it opens."""
    before, now, ends = b"", picture(page), time.monotonic() + PATIENCE_S
    while before != now:
        assert time.monotonic() < ends, "it never comes to rest"
        page.wait_for_timeout(300)
        before, now = now, picture(page)
    return now


def scene_of(server: RunningServer, step: str) -> dict[str, Any]:
    place = f"{server.url}/v1/plans/returns-desk-changed/steps/{step}/scene"
    found: dict[str, Any] = requests.get(place, timeout=300).json()
    return found


def where(page: Any) -> str:
    settled(page)
    text: str = page.locator(f"{STAGE} [role=status]").inner_text()
    return text


def slide(page: Any, label: str, value: float) -> None:
    page.get_by_label(label).evaluate(
        "(input, value) => { input.value = value; input.dispatchEvent(new Event('input')); }",
        value,
    )
    settled(page)


def test_it_turns_by_mouse_wheel_keys_and_buttons(demo: RunningServer, open_page: Open) -> None:
    page = opened(open_page, demo, f"{CHANGED}/grid")
    stage = page.locator(STAGE)
    first, seen = where(page), at_rest(page)
    assert first == "Seen from the front left and above."
    stage.focus()
    for key in ("ArrowRight", "ArrowUp", "+", "-"):
        stage.press(key)
        assert picture(page) != seen, key
    stage.press("Home")
    assert at_rest(page) == seen
    for _ in range(6):
        stage.press("ArrowRight")
    assert where(page) == "Seen from the front right and above."
    page.get_by_role("button", name="As at first").click()
    assert at_rest(page) == seen
    for name in ("Turn left", "Turn right", "Look from higher", "Look from lower", "Nearer"):
        page.get_by_role("button", name=name, exact=True).click()
        assert picture(page) != seen, name
        page.get_by_role("button", name="As at first").click()
    box = stage.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + 40
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 250, y + 30, steps=4)
    page.mouse.up()
    assert where(page) != first and picture(page) != seen
    page.get_by_role("button", name="As at first").click()
    stage.focus()
    page.mouse.move(x, y)
    page.mouse.wheel(0, -400)
    until(page, "(f) => document.querySelector('.three-words span').style.transform !== f", "")
    assert picture(page) != seen


def test_it_turns_and_comes_nearer_by_touch(demo: RunningServer, open_page: Open) -> None:
    page = opened(
        open_page, demo, f"{CHANGED}/grid", viewport={"width": 360, "height": 740}, has_touch=True
    )
    seen = picture(page)
    box = page.locator(STAGE).bounding_box()
    x, y = box["x"] + 150, box["y"] + 120
    touch = page.context.new_cdp_session(page)

    def send(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": px, "y": py, "id": k} for k, (px, py) in enumerate(places)]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    send("touchStart", (x, y))
    send("touchMove", (x + 60, y))
    send("touchEnd")
    turned = picture(page)
    assert turned != seen
    send("touchStart", (x, y), (x + 40, y))
    send("touchMove", (x - 40, y), (x + 90, y))
    send("touchEnd")
    assert picture(page) != turned
    widths = page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert widths[0] <= widths[1]
    small = page.eval_on_selector_all(
        ".three-view button, .three-view select, .three-view input",
        "all => all.filter((e) => e.getBoundingClientRect().height < 43.9 && e.offsetParent)"
        ".map((e) => e.outerHTML)",
    )
    assert small == []


def test_sections_come_apart_and_one_can_be_seen_alone(
    demo: RunningServer, open_page: Open
) -> None:
    page = opened(open_page, demo, f"{CHANGED}/grid")
    together = picture(page)
    words = page.locator(".three-view > p").first.inner_text()
    scene = scene_of(demo, "grid")
    assert words.startswith(f"4 sections of {len(scene['points_mm'])} hubs and ")
    assert "verdict of the calculation is watch" in words
    labels = page.locator(".three-words span").all_inner_texts()
    assert {"S1", "S2", "S3", "S4", "1.75 m"} <= set(labels)
    assert {f"{round(side):,} mm".replace(",", "\u202f") for side in scene["size_mm"]} <= set(
        labels
    )
    slide(page, "Sections apart", 1)
    assert picture(page) != together
    assert page.locator(".three-now").inner_text() == "Pulled apart where it comes apart."
    page.get_by_label("Show", exact=True).select_option(label="S4, catch and return desk")
    settled(page)
    labels = page.locator(".three-words span").all_inner_texts()
    assert "S4" in labels and "S1" not in labels
    mine = sum(group == 3 for group in scene["bars"]["group"])
    counts = re.findall(r"\((\d+)\)", page.locator(".three-legend").inner_text())
    assert sum(map(int, counts)) == mine


def test_rods_by_what_they_bear_and_each_by_name(demo: RunningServer, open_page: Open) -> None:
    scene = scene_of(demo, "strength")
    page = opened(open_page, demo, f"{CHANGED}/strength")
    assert scene["state_first"]
    states = [each for each in scene["states"] if each["id"] == scene["state_first"]]
    share = np.concatenate([np.tile(each["ratio"], len(each["groups"])) for each in states])
    counts = re.findall(r"\((\d+)\)", page.locator(".three-legend").inner_text())
    edges = [(0, 0.3), (0.3, 0.6), (0.6, 1), (1, np.inf)]
    expected = [int(((share >= low) & (share < high)).sum()) for low, high in edges]
    assert [int(count) for count in counts[:4]] == expected
    page.get_by_role("button", name="Next rod").click()
    said = page.locator(".three-said")
    assert f"{100 * share.max():.0f} % of what it takes." in said.inner_text()
    words = r"R\d+, \d+ mm, .* in S\d, .* from hub \(.*\) to hub \(.*\): "
    assert re.search(words, said.inner_text())
    first = said.inner_text()
    page.get_by_text("The 10 most used rods").click()
    page.locator(".three-most button").nth(4).click()
    assert said.inner_text() != first
    page.locator(STAGE).scroll_into_view_if_needed()
    places = page.locator(".three-words span", has_text="S2").bounding_box()
    page.mouse.click(places["x"] + places["width"] / 2, places["y"] + 45)
    assert said.inner_text() != "None is chosen."
    box = page.locator(STAGE).bounding_box()
    page.mouse.click(box["x"] + box["width"] - 8, box["y"] + 50)
    assert said.inner_text() == "None is chosen."


def test_the_shape_under_load_is_enlarged_as_the_slider_says(
    demo: RunningServer, open_page: Open
) -> None:
    page = opened(open_page, demo, f"{CHANGED}/strength")
    now = page.locator(".three-now")
    as_first = picture(page)
    slide(page, "Movement enlarged", 0)
    assert now.inner_text().endswith("not drawn.")
    rest = picture(page)
    assert rest != as_first
    slide(page, "Movement enlarged", 3)
    times = re.search(r"drawn ([\d.\u202f]+) times", now.inner_text())
    assert times and float(times[1].replace("\u202f", "")) > 1
    assert picture(page) not in (rest, as_first)
    cases = page.get_by_label("Case", exact=True).locator("option").all_inner_texts()
    assert len(cases) == len({each["id"] for each in scene_of(demo, "strength")["states"]})
    before = now.inner_text()
    page.get_by_label("Case", exact=True).select_option(index=0)
    assert now.inner_text() != before


def test_mechanisms_move_and_can_be_held_still(demo: RunningServer, open_page: Open) -> None:
    page = opened(open_page, demo, FOLDING)
    page.get_by_role("button", name="How it folds").click()
    if page.get_by_role("button", name="Let it move").count():
        page.get_by_role("button", name="Let it move").click()
    moving = picture(page)
    until(page, "() => new Promise((f) => setTimeout(() => f(true), 400))")
    assert picture(page) != moving
    page.get_by_role("button", name="Hold it still").click()
    still = at_rest(page)
    page.get_by_role("button", name="One step").click()
    assert at_rest(page) != still
    assert "Nothing holds this movement" in page.locator(".three-now").inner_text()


def test_with_less_motion_mechanisms_move_by_steps_alone(
    demo: RunningServer, open_page: Open
) -> None:
    page = opened(open_page, demo, FOLDING, reduced_motion="reduce")
    page.get_by_role("button", name="How it folds").click()
    assert page.get_by_role("button", name="Let it move").count() == 0
    still = at_rest(page)
    page.get_by_role("button", name="One step").focus()
    page.keyboard.press("Enter")
    assert at_rest(page) != still
    assert page.evaluate("document.activeElement.textContent") == "One step"


def test_the_worst_way_to_hold_a_section(demo: RunningServer, open_page: Open) -> None:
    attitude = scene_of(demo, "strength")["attitudes"][0]
    page = opened(open_page, demo, f"{CHANGED}/strength")
    page.get_by_role("button", name="Worst way to hold it").click()
    angle = np.degrees(np.arccos(-attitude["down"][2]))
    now = page.locator(".three-now").inner_text()
    assert f"turned {angle:.0f}° from standing" in now
    assert f"{100 * max(attitude['ratio']):.0f} % of what it takes" in now
    lying = picture(page)
    page.get_by_role("button", name="The frame").click()
    assert picture(page) != lying


def test_sections_are_led_through_openings(demo: RunningServer, open_page: Open) -> None:
    page = opened(open_page, demo, f"{CHANGED}/route")
    passings = scene_of(demo, "route")["passings"]
    now = page.locator(".three-now")
    for each in passings:
        page.get_by_label("What is led through").select_option(label=each["body"])
        names = page.get_by_label("Opening", exact=True).locator("option").all_inner_texts()
        place = next(k for k, name in enumerate(names) if name.startswith(each["opening"]))
        page.get_by_label("Opening", exact=True).select_option(index=place)
        assert now.inner_text().startswith(each["words"][:60])
    middle = picture(page)
    slide(page, "How far it is through", -1.4)
    assert picture(page) != middle


def test_without_webgl_there_is_a_still_picture_and_the_reason(
    demo: RunningServer, open_page: Open
) -> None:
    page = open_page(demo, f"{CHANGED}/grid")
    page.evaluate("() => { HTMLCanvasElement.prototype.getContext = () => null; }")
    page.get_by_role("button", name="Show in 3D").click()
    view = page.locator(".three-view")
    view.get_by_role("img").wait_for()
    assert "has no WebGL" in view.inner_text()
    assert len(view.get_by_role("img").get_attribute("alt")) > 20
    assert violations(page) == []


def test_opened_and_closed_twenty_times_it_leaves_nothing_behind(
    demo: RunningServer, open_page: Open
) -> None:
    page = open_page(demo, "#/calculators")
    page.evaluate(
        """() => {
          window.taken = [];
          const before = HTMLCanvasElement.prototype.getContext;
          HTMLCanvasElement.prototype.getContext = function (...rest) {
            const made = before.apply(this, rest);
            if (made && !window.taken.includes(made)) window.taken.push(made);
            return made;
          };
        }"""
    )
    left = page.evaluate(
        """async (scene) => {
          const { mount } = await import("/dashboard/three-view.js");
          const place = document.createElement("div");
          document.querySelector("main").append(place);
          for (let k = 0; k < 20; k += 1) {
            const view = await mount(place, { scene });
            await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
            if (k % 2) place.remove();
            else view.destroy();
            await new Promise((drawn) => setTimeout(drawn, 30));
            if (k % 2) document.querySelector("main").append(place);
          }
          return {
            taken: window.taken.length,
            alive: window.taken.filter((context) => !context.isContextLost()).length,
            canvases: document.querySelectorAll("canvas").length,
          };
        }""",
        lattice(3, 3, 3),
    )
    assert left == {"taken": 20, "alive": 0, "canvases": 0}


def lattice(nx: int, ny: int, nz: int) -> dict[str, Any]:
    """A scene of bars along a grid of points 120 mm apart, all in one group."""
    places = [[i, j, k] for i in range(nx) for j in range(ny) for k in range(nz)]
    number = {tuple(place): n for n, place in enumerate(places)}
    steps = [(1, 0, 0), (0, 1, 0), (0, 0, 1)]
    pairs = [
        (number[tuple(place)], number[other])
        for place in places
        for step in steps
        if (other := (place[0] + step[0], place[1] + step[1], place[2] + step[2])) in number
    ]
    none = [0] * len(pairs)
    return {
        "title": "Lattice",
        "words": f"{len(places)} hubs and {len(pairs)} rods.",
        "verdict": "ok",
        "points_mm": [[120 * value for value in place] for place in places],
        "group_of_point": [0] * len(places),
        "bars": {
            "start": [a for a, _ in pairs],
            "end": [b for _, b in pairs],
            "group": none,
            "kind": none,
            "piece": none,
        },
        "groups": [{"id": "S1", "title": "", "apart": [0, 0, 0]}],
        "kinds": ["rods"],
        "pieces": [{"id": "R120", "thickness_mm": 8}],
        "places": places,
        "size_mm": [120 * (n - 1) for n in (nx, ny, nz)],
        "margin_mm": 17,
        "states": [],
        "motions": [
            {"title": "Lean", "groups": [0], "moved": [[k / nz, 0, 0] for *_, k in places]}
        ],
        "attitudes": [],
        "passings": [],
        "left_out": [],
        "share_of": "of what it takes",
        "state_first": "",
    }


#: Mounts a scene, then turns it and moves all of it; milliseconds until each picture is drawn.
MEASURE = """async (scene) => {
  const { mount } = await import("/dashboard/three-view.js");
  const place = document.createElement("div");
  document.querySelector("main").append(place);
  const view = await mount(place, { scene });
  const stage = place.querySelector(".three-stage");
  const canvas = stage.querySelector("canvas");
  const seen = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const drawn = async () => {
    await frame();
    seen.drawImage(canvas, 0, 0, 1, 1); // waits until it is there
    seen.getImageData(0, 0, 1, 1);
  };
  const button = (name) =>
    [...place.querySelectorAll("button")].find((each) => each.textContent === name);
  const timed = async (act) => {
    for (let k = 0; k < 3; k += 1) { act(); await drawn(); }
    const started = performance.now();
    for (let k = 0; k < 20; k += 1) { act(); await drawn(); }
    return (performance.now() - started) / 20;
  };
  const key = () => new KeyboardEvent("keydown", { key: "ArrowRight" });
  const turn = await timed(() => stage.dispatchEvent(key()));
  const move = await timed(() => button("One step").click());
  view.destroy();
  place.remove();
  return [turn, move];
}"""


def test_seven_thousand_rods_turn_at_an_interactive_rate(
    small: RunningServer, open_page: Open
) -> None:
    """Until a picture is drawn, with 300 and 7,000 rods in the same run; without a graphics card,
    beside other work, so the limits are generous."""
    page = open_page(small, "#/calculators")
    took = {}
    for sides in ((5, 5, 5), (14, 14, 13)):
        scene = lattice(*sides)
        count = len(scene["bars"]["start"])
        took[count] = page.evaluate(MEASURE, scene)
        print(f"\n{count} rods: a turn {took[count][0]:.0f} ms, a step {took[count][1]:.0f} ms")
    (few, fast), (many, slow) = took.items()
    assert few == 300 and many >= 7000
    for quick, long in zip(fast, slow, strict=True):
        assert long < 25 * max(quick, 1000 / 60)
        assert long < 800


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("step", ["grid", "strength", "route"])
def test_axe_finds_nothing_in_the_view(
    demo: RunningServer, open_page: Open, step: str, scheme: str
) -> None:
    page = opened(open_page, demo, f"{CHANGED}/{step}", color_scheme=scheme)
    for mode in page.locator(".three-view > .choices button").all():
        mode.click()
        assert violations(page) == []


def test_all_of_it_by_keys_alone(demo: RunningServer, open_page: Open) -> None:
    page = open_page(demo, f"{CHANGED}/strength")
    show = page.get_by_role("button", name="Show in 3D")
    show.focus()
    page.keyboard.press("Enter")
    page.locator(f"{STAGE} canvas").wait_for()
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(
            page.evaluate(
                """() => {
                  const e = document.activeElement;
                  if (!e.closest(".three-view")) return "";
                  const label = e.getAttribute("aria-label") ?? e.labels?.[0]?.textContent;
                  return label ?? e.textContent;
                }"""
            )
        )
    wanted = {"The frame", "Under load", "Turn left", "Nearer", "Show", "Case", "Next rod"}
    assert wanted <= reached, json.dumps(sorted(reached))


def test_turning_down_keeps_lengths_and_brings_gravity_down(
    small: RunningServer, open_page: Open
) -> None:
    """Rows of the turn are those of a rotation that takes `down` to the ground (Rodrigues)."""
    page = open_page(small, "#/calculators")
    rng = np.random.default_rng(7)
    downs = rng.normal(size=(50, 3))
    downs /= np.linalg.norm(downs, axis=1)[:, None]
    downs = np.vstack([downs, [[0, 0, 1], [0, 0, -1], [1, 0, 0]]])
    turns = np.array(
        page.evaluate(
            """async (downs) => {
              const { shortestTurn } = await import("/dashboard/three-model.js");
              return downs.map((down) => shortestTurn(down, [0, 0, -1]));
            }""",
            downs.tolist(),
        )
    )
    for down, turn in zip(downs, turns, strict=True):
        assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-9)
        assert np.linalg.det(turn) == pytest.approx(1)
        assert turn @ down == pytest.approx([0, 0, -1], abs=1e-9)
