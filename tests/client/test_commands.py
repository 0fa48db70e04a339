"""Commands against a real service: what they print, and how they end."""

import csv
import json
import os
from pathlib import Path

import pytest
import requests

from tests.client.helpers import TOKEN, Command, StandIn, save

NARROW = "width_mm: 800\n"
WIDE = "# a shelf\nwidth_mm: 1200\n"


def ask(url: str, method: str, path: str, body: object = None, accept: str = "*/*") -> bytes:
    """What the service says to a plain HTTP request."""
    headers = {"Authorization": f"Bearer {TOKEN}", "Accept": accept}
    return requests.request(method, url + path, json=body, headers=headers, timeout=10).content


# Exit status


def test_done_without_a_stop_ends_with_0(baywright: Command) -> None:
    ran = baywright("run", "shelf", save("a.yaml", NARROW))
    assert ran.status == 0
    assert "✔ ok" in ran.text and "The board fits." in ran.text


def test_a_stop_ends_with_1_and_is_told_first(baywright: Command) -> None:
    """Verdict by word and shape, number and limit, place in the file, what to do."""
    ran = baywright("run", "shelf", save("a.yaml", WIDE))
    assert ran.status == 1
    lines = [line.strip() for line in ran.text.splitlines() if line.strip()]
    assert lines[0] == "Does the shelf fit?   ✖ stop"
    assert lines[1:5] == [
        "Change before you build",
        "✖ The board is too wide.",
        "1200 mm, limit 1000 mm   a.yaml:2:1",
        "→ Saw it off. (tried: this clears it)",
    ]
    assert "Planning aid, not a safety certificate." in ran.text


@pytest.mark.parametrize(
    "arguments",
    [
        ["nonsense"],
        ["run", "shelf"],
        ["run", "shelf", "nowhere.yaml"],
        ["run", "../../etc", "a.yaml"],
        ["serve", "--port", "99999999"],
        ["show", "shelf", "--example", "9"],
        ["run", "shelf", "a.yaml", "--output", "a.yaml"],
        ["run", "shelf", "a.yaml", "--output", "a.yaml/below"],
        ["--service", "http://[::1", "list"],
        ["--service", "ftp://somewhere", "list"],
    ],
)
def test_usage_ends_with_2(baywright: Command, arguments: list[str]) -> None:
    save("a.yaml", NARROW)
    ran = baywright(*arguments)
    assert ran.status == 2
    assert ran.errors and "Traceback" not in ran.errors and not ran.output


def test_refused_ends_with_3_pointer_first_with_line_and_column(baywright: Command) -> None:
    """All faults at once; a field that is missing is pointed to where it would stand."""
    text = "note: x\ncarries:\n  force_n: -1\nwidht_mm: 800\nboards_count: 2.5\n"
    ran = baywright("run", "shelf", save("a.yaml", text))
    assert ran.status == 3
    assert ran.errors.splitlines()[0].startswith("baywright: refused: Some fields are not valid")
    assert "  /widht_mm: No such field. Did you mean width_mm?   (a.yaml:4:1)" in ran.errors
    assert "  /carries/force_n: Must be at least 0 and at most 1e+06.   (a.yaml:3:3)" in ran.errors
    assert "  /boards_count: Must be a whole number.   (a.yaml:5:1)" in ran.errors
    assert "  /width_mm: This field is required.   (a.yaml:1:1)" in ran.errors
    assert "baywright show NAME" in ran.errors


def test_a_refusal_for_engineering_reasons_points_too(baywright: Command) -> None:
    ran = baywright("run", "shelf", save("a.yaml", "width_mm: 666\n"))
    assert ran.status == 3
    assert "/width_mm: Nobody can say.   (a.yaml:1:1)" in ran.errors


def test_no_such_calculator_names_the_nearest(baywright: Command) -> None:
    ran = baywright("run", "shelv", save("a.yaml", NARROW))
    assert ran.status == 3
    assert "Did you mean shelf?" in ran.errors and "baywright list" in ran.errors


def test_a_wrong_token_is_refused_with_what_to_do(
    baywright: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BAYWRIGHT_TOKEN", "wrong")
    ran = baywright("list")
    assert ran.status == 3 and "BAYWRIGHT_TOKEN_FILE" in ran.errors


def test_the_token_may_stand_in_a_file(baywright: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("BAYWRIGHT_TOKEN")
    monkeypatch.setenv("BAYWRIGHT_TOKEN_FILE", save("token", TOKEN + "\n"))
    assert baywright("list").status == 0
    monkeypatch.setenv("BAYWRIGHT_TOKEN_FILE", "nowhere")
    assert baywright("list").status == 2


def test_nobody_there_ends_with_4(command: Command) -> None:
    ran = command("--service", "http://127.0.0.1:9", "list")
    assert ran.status == 4 and "baywright serve" in ran.errors


@pytest.mark.parametrize(
    ("status", "media", "content", "says"),
    [
        (500, "application/problem+json", b'{"status": 500, "title": "Ours"}', "Ours"),
        (500, "text/html", b"<h1>No</h1>", "status 500"),
        (502, "text/html", b"<h1>No</h1>", "status 502"),
        (200, "text/html", b"<h1>Printer</h1>", "no Baywright service"),
        (200, "application/json", b"{", "no Baywright service"),
        (302, "text/html", b"", "no Baywright service"),
        (404, "text/html", b"<h1>No</h1>", "no Baywright service"),
    ],
)
def test_a_broken_service_ends_with_4(
    command: Command, stand_in: StandIn, status: int, media: str, content: bytes, says: str
) -> None:
    stand_in.status, stand_in.content = status, content
    stand_in.headers = {"Content-Type": media, "Location": "http://example.invalid/"}
    ran = command("--service", stand_in.url, "list")
    assert ran.status == 4 and says in ran.errors


def test_a_busy_service_says_when_to_come_back(command: Command, stand_in: StandIn) -> None:
    stand_in.problem(503, title="Stopping", detail="Soon back.")
    stand_in.headers["Retry-After"] = "7"
    ran = command("--service", stand_in.url, "list")
    assert ran.status == 4 and "Try again in 7 s." in ran.errors


# Bytes as they came


def test_json_is_what_the_api_said(baywright: Command, service_url: str) -> None:
    """Byte for byte, for each command that takes --json."""
    body = {"width_mm": 1200}
    plan = {"steps": [{"id": "one", "calculator": "shelf", "inputs": body}]}
    save("plan.json", json.dumps(plan))
    save("a.json", json.dumps(body))
    cases = [
        (["list"], ask(service_url, "GET", "/v1/calculators")),
        (["show", "shelf"], ask(service_url, "GET", "/v1/calculators/shelf")),
        (["run", "shelf", "a.json"], ask(service_url, "POST", "/v1/calculators/shelf/run", body)),
        (["plan", "plan.json"], ask(service_url, "POST", "/v1/plans/run", plan)),
        (["kit", "list"], ask(service_url, "GET", "/v1/kits?limit=1000")),
        (["openapi"], ask(service_url, "GET", "/v1/openapi.json")),
    ]
    for arguments, said in cases:
        assert baywright(*arguments, "--json").output == said, arguments


def test_json_of_a_refusal_is_the_problem(baywright: Command) -> None:
    ran = baywright("run", "shelf", save("a.yaml", "width: 1\n"), "--json")
    assert ran.status == 3
    assert json.loads(ran.output)["type"] == "/v1/problems/invalid-input"


def test_openapi_is_yaml_unless_asked(baywright: Command, service_url: str) -> None:
    assert baywright("openapi").output == ask(
        service_url, "GET", "/v1/openapi.yaml", accept="application/yaml"
    )


# What is read


def test_standard_input(baywright: Command) -> None:
    ran = baywright("run", "shelf", "-", stdin=b"width_mm: 4 ft\n")
    assert ran.status == 1
    assert "standard input:1:1" in ran.text


def test_quantities_are_converted_and_shown(baywright: Command) -> None:
    """What was sent is said on standard error; the answer is as if it had been typed."""
    text = (
        "width_mm: 32 in\ncarries: {force_n: 100 lbf}\nhold_min: 1 h\nstations_mm: [1/32 in, 5]\n"
    )
    ran = baywright("run", "shelf", save("a.yaml", text), "--json")
    assert json.loads(ran.output)["result"]["width_mm"] == 812.8
    assert "a.yaml:1:1: 32 in is sent as 812.8 mm" in ran.errors
    assert "a.yaml:2:11: 100 lbf is sent as 444.82216152605 N" in ran.errors
    assert "a.yaml:3:1: 1 h is sent as 60 min" in ran.errors
    assert "a.yaml:4:15: 1/32 in is sent as 0.79375 mm" in ran.errors


def test_a_wrong_unit_names_field_line_and_what_is_needed(baywright: Command) -> None:
    text = "width_mm: 32 in\ncarries:\n  force_n: 100 kg\nmass_kg: 3 lbf\n"
    ran = baywright("run", "shelf", save("a.yaml", text))
    assert ran.status == 2
    first, second = ran.errors.splitlines()
    assert first.startswith("a.yaml:3:3: force_n: “100 kg” is a mass; this field needs a force")
    assert second.startswith("a.yaml:4:1: mass_kg: “3 lbf” is a force; this field needs a mass")


def test_broken_yaml_names_the_line(baywright: Command) -> None:
    ran = baywright("run", "shelf", save("a.yaml", "width_mm: 8\ncarries: {force_n: 1\nnote: x\n"))
    assert ran.status == 2 and ran.errors.startswith("a.yaml:3:5: Cannot read this")


# Plans

PLAN = """\
title: Two shelves
about: One above the other.
kit: {$file: kit.yaml}
steps:
  - id: lower
    calculator: shelf
    title: Does the lower shelf fit?
    inputs: {width_mm: 1 m}
  - id: upper
    calculator: shelf
    inputs:
      width_mm: {$ref: "#/steps/lower/result/width_mm"}
      note: as below
"""
KIT = "title: Boards\nboards:\n  - {id: R60, pitch_mm: 6 cm}\n"


def test_a_plan_runs_with_files_taken_in_and_units(baywright: Command) -> None:
    save("kit.yaml", KIT)
    ran = baywright("plan", save("plan.yaml", PLAN))
    assert ran.status == 0, ran.errors
    assert "lower: The board fits." in ran.text
    assert "✔ ok     lower  Does the lower shelf fit?" in ran.text
    assert "kit.yaml:3:15: 6 cm is sent as 60 mm" in ran.errors


def test_faults_in_a_file_taken_in_point_into_it(baywright: Command) -> None:
    save("kit.yaml", KIT.replace("6 cm", "6000000"))
    ran = baywright("plan", save("plan.yaml", PLAN))
    assert ran.status == 1
    assert "lower: Some fields are not valid: Must be at least 1" in ran.text.replace("\n    ", "")
    assert "/steps/0/inputs/kit/boards/0/pitch_mm" in ran.text
    assert "(kit.yaml:3:15)" in ran.text


def test_a_plan_that_does_not_hold_points_at_the_step(baywright: Command) -> None:
    save("kit.yaml", KIT)
    plan = PLAN.replace("calculator: shelf\n    title", "calculator: shel\n    title")
    ran = baywright("plan", save("plan.yaml", plan))
    assert ran.status == 3
    assert "/steps/0/calculator: No calculator of that name. Did you mean shelf?" in ran.errors
    assert "(plan.yaml:6:5)" in ran.errors


def test_findings_point_into_the_plan(baywright: Command) -> None:
    save("kit.yaml", KIT)
    ran = baywright("plan", "run", save("plan.yaml", PLAN.replace("1 m}", "2 m}")))
    assert ran.status == 1
    assert "2000 mm, limit 1000 mm   plan.yaml:8:14" in ran.text
    assert ran.text.index("Change before you build") < ran.text.index("Steps")


# Output


def test_output_writes_every_form(baywright: Command, service_url: str) -> None:
    """The files hold what the API gives for the same run."""
    body = {"width_mm": 1200, "boards_count": 3}
    ran = baywright("run", "shelf", save("a.json", json.dumps(body)), "--output", "out")
    path = "/v1/calculators/shelf/run"
    assert ran.status == 1
    files = {name: Path("out", name).read_bytes() for name in os.listdir("out")}
    assert sorted(files) == [
        "report.html",
        "report.pdf",
        "shelf-front.svg",
        "shelf.csv",
        "shelf.json",
    ]
    assert files["shelf.json"] == ask(service_url, "POST", path, body)
    assert files["shelf.csv"] == ask(service_url, "POST", path, body, "text/csv")
    assert files["shelf-front.svg"] == ask(service_url, "POST", path, body, "image/svg+xml")


def test_the_same_inputs_give_the_same_files(baywright: Command) -> None:
    save("kit.yaml", KIT)
    plan = save("plan.yaml", PLAN)
    for folder in ("one", "two"):
        assert baywright("plan", plan, "--output", folder).status == 0
    names = sorted(os.listdir("one"))
    steps = [
        f"{step}{end}" for step in ("lower", "upper") for end in ("-front.svg", ".csv", ".json")
    ]
    assert names == sorted([*steps, "plan.json", "report.html", "report.pdf"])
    for name in names:
        assert Path("one", name).read_bytes() == Path("two", name).read_bytes(), name


def test_table_of_a_run_is_printed(baywright: Command) -> None:
    ran = baywright("run", "shelf", save("a.yaml", "width_mm: 800\nboards_count: 20\n"))
    assert "board     width" in ran.text and "board-19    800" in ran.text
    assert "  spare  200 mm" in ran.text


# Show


def test_show_lists_fields_units_and_bounds(baywright: Command) -> None:
    ran = baywright("show", "shelf")
    assert ran.status == 0
    assert "width_mm*" in ran.text and "number mm 1 to 5000" in ran.text
    assert (
        "carries.force_n*" in ran.text
        and "raw" in ran.text
        and "A folding rule, page 1" in ran.text
    )


def test_an_example_is_ready_to_run(baywright: Command) -> None:
    ran = baywright("show", "shelf", "--example")
    save("example.yaml", ran.text)
    assert baywright("run", "shelf", "example.yaml").status == 0


# Stored documents


def test_a_document_goes_in_and_out(baywright: Command) -> None:
    save("kit.yaml", KIT)
    assert baywright("kit", "put", "boards", "kit.yaml").text.startswith("Stored the kit boards")
    assert json.loads(baywright("kit", "get", "boards").output)["boards"][0]["pitch_mm"] == 60
    assert "boards" in baywright("kit", "list").text
    save("kit.yaml", KIT.replace("6 cm", "7 cm"))
    assert baywright("kit", "put", "boards", "kit.yaml").text.startswith("Replaced the kit boards")
    ran = baywright("run", "shelf", save("a.yaml", "kit: {id: boards}\nwidth_mm: 5\n"), "--json")
    assert json.loads(ran.output)["documents"][0]["id"] == "boards"
    assert baywright("kit", "delete", "boards").status == 0
    assert baywright("kit", "get", "boards").status == 3
    assert baywright("kit", "delete", "boards").status == 3


def test_a_stored_plan_runs_by_its_id(baywright: Command) -> None:
    save("kit.yaml", KIT)
    assert baywright("plan", "put", "two-shelves", save("plan.yaml", PLAN)).status == 0
    ran = baywright("plan", save("by-id.yaml", "id: two-shelves\n"), "--output", "out")
    assert ran.status == 0, ran.errors
    assert "Two shelves" in ran.text and Path("out/upper-front.svg").exists()
    assert "two-shelves" in baywright("plan", "list").text
    assert baywright("plan", "delete", "two-shelves").status == 0


def test_faults_of_a_document_point_into_the_file(baywright: Command) -> None:
    ran = baywright("kit", "put", "boards", save("kit.yaml", "boards:\n  - {id: R60}\n"))
    assert ran.status == 3 and "/boards/0/pitch_mm" in ran.errors and "kit.yaml:2:5" in ran.errors


# Terminals and shells


def test_no_colour_where_no_terminal_is(baywright: Command) -> None:
    ran = baywright("run", "shelf", save("a.yaml", WIDE))
    assert b"\x1b" not in ran.output and "\x1b" not in ran.errors


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_names_its_variable(command: Command, shell: str) -> None:
    ran = command("completion", shell)
    assert ran.status == 0 and f"_BAYWRIGHT_COMPLETE={shell}_complete" in ran.text


def test_the_table_of_csv_has_what_the_screen_left_out(baywright: Command) -> None:
    save("a.yaml", "width_mm: 800\nboards_count: 20\n")
    baywright("run", "shelf", "a.yaml", "--output", "out")
    with open("out/shelf.csv", newline="", encoding="utf-8") as file:
        assert len(list(csv.reader(file))) == 21
