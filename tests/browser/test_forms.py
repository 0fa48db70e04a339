"""Forms made from schemas: every calculator's examples go in and come out, strangers' too."""

import json
from collections.abc import Callable
from typing import Any

import pytest
import requests

from baywright_client.units import NotAQuantity, in_unit
from baywright_service.server import RunningServer
from tests.browser.looking import until

Open = Callable[..., Any]

#: Builds the form of one calculator, writes each example into it and reads it again.
ROUND_TRIP = """
async (name) => {
  const { describe } = await import('/dashboard/api.js');
  const { schemaForm } = await import('/dashboard/form.js');
  const { input_schema, examples } = await describe(name);
  const form = schemaForm(input_schema, { label: 'Calculate', send: () => undefined });
  document.querySelector('main').replaceChildren(form.element);
  return examples.map(({ inputs }) => {
    form.write(inputs);
    const { value, faults } = form.read();
    return [inputs, value, faults, form.element.querySelectorAll('input, select').length];
  });
}
"""


def without_nulls(value: Any) -> Any:
    """null means the same as absent."""
    if isinstance(value, dict):
        return {key: without_nulls(inner) for key, inner in value.items() if inner is not None}
    return [without_nulls(inner) for inner in value] if isinstance(value, list) else value


def test_every_example_of_every_calculator_goes_through_its_form_unchanged(
    demo: RunningServer, open_page: Open
) -> None:
    page = open_page(demo, "#/calculators")
    page.locator(".card").first.wait_for()
    listed = requests.get(f"{demo.url}/v1/calculators", timeout=30).json()["items"]
    assert len(listed) > 10
    for entry in listed:
        for inputs, value, faults, controls in page.evaluate(ROUND_TRIP, entry["name"]):
            assert faults == [], entry["name"]
            assert without_nulls(value) == without_nulls(inputs), entry["name"]
            assert controls > 0


def test_strangers_get_forms_of_every_kind_of_field(small: RunningServer, open_page: Open) -> None:
    page = open_page(small, "#/calculators")
    page.locator(".card").first.wait_for()
    whole = {
        "number_n": -2.5,
        "whole": 7,
        "text": "a text",
        "key": "S1",
        "choice": "crossed",
        "flag": True,
        "column": [1, 2.5, 3],
        "rows": [[1, 2, 3], [4, 5, 6.5]],
        "wholes": [1, 2],
        "names": ["a", "b"],
        "part": {"inner_mm": 0.5},
        "items": [{"item": "R120", "on_hand_count": 3}, {"item": "R60", "on_hand_count": 0}],
        "values": [0.25, 1],
        "by_key": {"a": 0.5, "b": 1},
        "one_of": {"ball_mm": 4},
        "anything": {"deep": [1, {"er": None}]},
    }
    script = ROUND_TRIP.replace("examples.map", "[{ inputs: WHOLE }].map")
    [[inputs, value, faults, _]] = page.evaluate(
        script.replace("WHOLE", json.dumps(whole)), "everything"
    )
    assert faults == [] and value == inputs == whole
    assert page.locator("main").inner_text().count("optional") >= 8


def test_a_strangers_calculator_has_a_form_and_a_picture(
    small: RunningServer, open_page: Open
) -> None:
    """A quantity is converted, and what is sent is shown."""
    page = open_page(small, "#/calculators/bounce-height")
    until(page, "document.querySelector('figure img')?.naturalWidth > 0")
    field = page.get_by_label("Height of the drop")
    assert field.input_value() == "1000"
    field.fill("32 in")
    field.blur()
    page.get_by_text("812.8 mm is sent.").wait_for()
    with page.expect_request("**/bounce-height/run") as asked:
        page.get_by_role("button", name="Calculate").click()
    assert asked.value.post_data_json == {"drop_mm": 812.8}
    page.locator(".facts", has_text="95.63 mm").wait_for()


def test_what_cannot_be_read_is_said_beside_the_field_and_not_sent(
    small: RunningServer, open_page: Open
) -> None:
    page = open_page(small, "#/calculators/bounce-height")
    page.locator("figure img").wait_for()
    field = page.get_by_label("Height of the drop")
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    field.fill("32 stone")
    page.get_by_role("button", name="Calculate").click()
    box = page.locator(".field", has=field)
    box.locator(".fault", has_text="stone does not fit here").wait_for()
    assert field.get_attribute("aria-invalid") == "true"
    assert asked == []


def test_faults_of_the_service_stand_beside_their_fields(
    small: RunningServer, open_page: Open
) -> None:
    page = open_page(small, "#/calculators/span", refusals=[422])
    page.locator("figure img").wait_for()
    page.get_by_label("Bays", exact=True).fill("500")
    page.get_by_role("button", name="Calculate").click()
    field = page.locator(".field.wrong", has_text="Bays")
    field.locator(".fault", has_text="at most 100").wait_for()
    summary = page.locator(".fault-summary")
    assert "Bays" in summary.inner_text()
    summary.get_by_role("button").first.click()
    assert page.evaluate("document.activeElement.value") == "500"
    page.get_by_label("Bays", exact=True).fill("5")
    page.get_by_role("button", name="Calculate").click()
    page.locator(".answer .verdict.ok").wait_for()
    assert page.locator(".field.wrong").count() == 0


def test_faults_deep_in_folded_parts_are_unfolded(small: RunningServer, open_page: Open) -> None:
    page = open_page(small, "#/calculators/everything", refusals=[422])
    page.locator(".answer").wait_for()
    page.get_by_role("button", name="Edit as text").click()
    text = '{"items": [{"item": "a", "on_hand_count": 1}, {"item": "b", "on_hand_count": -1}]}'
    page.get_by_label("Inputs as JSON").fill(text)
    page.get_by_role("button", name="Edit as a form").click()
    page.get_by_role("button", name="Calculate").click()
    fault = page.locator(".field.wrong .fault", has_text="at least 0")
    fault.wait_for()
    assert fault.is_visible()


def test_a_refusal_says_why(small: RunningServer, open_page: Open) -> None:
    page = open_page(small, "#/calculators/fail", refusals=[422, 500])
    page.locator(".problem", has_text="It was told so.").wait_for()
    page.locator(".field.wrong .fault", has_text="It was told so.").wait_for()
    page.get_by_label("How").select_option(label="fault")
    page.get_by_role("button", name="Calculate").click()
    page.locator(".problem", has_text="made a mistake").wait_for()
    assert "secret" not in page.locator("main").inner_text()


def test_a_stored_document_is_chosen_from_what_is_stored(
    small: RunningServer, open_page: Open
) -> None:
    kit = {"title": "Loft", "rods": [{"id": "R60", "pitch_mm": 60}]}
    place = f"{small.url}/v1/kits/loft"
    requests.put(place, json=kit, headers={"If-None-Match": "*"}, timeout=30)
    page = open_page(small, "#/calculators/span")
    page.locator("figure img").wait_for()
    page.get_by_label("How it is given").select_option(label="Stored kit")
    page.get_by_label("Stored kit").select_option("loft")
    page.get_by_label("Rod of the bay").fill("R60")
    with page.expect_request("**/span/run") as asked:
        page.get_by_role("button", name="Calculate").click()
    assert asked.value.post_data_json["kit"] == {"id": "loft"}
    page.locator(".facts", has_text="180 mm").first.wait_for()


def test_inputs_of_a_step_keep_what_comes_from_other_steps(
    demo: RunningServer, open_page: Open
) -> None:
    page = open_page(demo, "#/plans/returns-desk-changed/route")
    page.locator("summary", has_text="Inputs of this step").click()
    page.locator("fieldset", has_text="Taken from step grid: frame").first.wait_for()
    before = requests.get(f"{demo.url}/v1/plans/returns-desk-changed", timeout=30).json()
    with page.expect_request("**/v1/plans/run") as asked:
        page.get_by_role("button", name="Change and calculate").click()
    assert asked.value.post_data_json["steps"] == before["steps"]
    page.locator("section.news").wait_for()


QUANTITIES = [
    ("32 in", "mm"), ("5 ft 2 in", "mm"), ("1/32 in", "mm"), ("2 1/2 in", "mm"), ("-3.5 cm", "mm"),
    ('6"', "mm"), ("5' 7\"", "mm"), ("0.1 m", "mm"), ("12.7 mm", "m"), ("100 lbf", "N"),
    ("1.2 kN", "N"), ("26 lb", "kg"), ("0.4 oz", "g"), ("41 g", "kg"), ("1.5 h", "min"),
    ("90 min", "h"), ("1 Hz", "/min"), ("12 rpm", "/min"), ("2 km/h", "m/s"), ("30 deg", "deg"),
    ("210 GPa", "N/mm2"), ("1e3 mm", "mm"), ("2.5 %", "%"),
]  # fmt: skip
NONSENSE = [("32 stone", "mm"), ("five", "mm"), ("1/0 in", "mm"), ("3 in 4", "mm"), ("10 kg", "N")]


def test_quantities_are_what_the_client_makes_of_them(
    small: RunningServer, open_page: Open
) -> None:
    """The client converts by a units library; the page by a small table of its own."""
    page = open_page(small)
    script = """async (pairs) => {
      const { quantity } = await import('/dashboard/units.js');
      return pairs.map(([text, unit]) => {
        try { return quantity(text, unit).number; } catch (error) { return error.message; }
      });
    }"""
    numbers = page.evaluate(script, [list(pair) for pair in QUANTITIES])
    for (text, unit), number in zip(QUANTITIES, numbers, strict=True):
        assert number == pytest.approx(in_unit(text, unit), rel=4e-16, abs=0), text
    for (text, unit), words in zip(
        NONSENSE, page.evaluate(script, [list(pair) for pair in NONSENSE]), strict=True
    ):
        assert isinstance(words, str), text
        with pytest.raises(NotAQuantity):
            in_unit(text, unit)
