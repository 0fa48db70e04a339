"""`baywright batch`: files with units, progress, results, and how it goes on after Ctrl-C."""

import csv
import doctest
import io
import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from baywright_client import batch_table, progress
from baywright_client.api import Answer, Api
from baywright_client.batch_table import short_names
from baywright_client.demo import examples
from baywright_client.progress import Line, line
from tests.client.helpers import Command, StandIn, save

SHELVES = """\
title: Shelves
calculator: shelf
inputs: {width_mm: 800}
vary:
  - {pointer: /width_mm, values: [80 cm, 1200, 1 m]}
  - {pointer: /boards_count, values: [1, 2]}
keep: [/result/spare_mm]
"""
NARROW = "calculator: shelf\ninputs: {width_mm: 800}\nvariants: [{}, {note: b}]\n"
PLAN = """\
plan:
  kit: {boards: [{id: A, pitch_mm: 10}]}
  steps:
    - id: low
      calculator: shelf
      inputs: {width_mm: 31 in, corners_mm: [[0, 0, 0]], carries: {force_n: 1}}
vary:
  - {pointer: /steps/low/inputs/width_mm, values: [32 in]}
  - {pointer: /steps/0/inputs/corners_mm/0/1, values: [1 cm]}
  - {pointer: /steps/0/inputs/carries, values: [{force_n: 10 kgf}]}
  - {pointer: /kit/boards/0/pitch_mm, values: [2 in]}
variants:
  - steps: [{id: low, calculator: shelf, inputs: {width_mm: 1 ft}}]
  - json_patch: [{op: replace, path: /steps/0/inputs/width_mm, value: 2 ft}]
  - kit: {boards: [{id: A, pitch_mm: 3 in}]}
"""


def id_of(errors: str) -> str:
    """The batch that a command named."""
    found = re.search(r"b-[0-9a-f]+", errors)
    assert found
    return found[0]


def last_batch(baywright: Command) -> str:
    """The batch made last."""
    listed = json.loads(baywright("batch", "list", "--json").output)
    return str(listed["items"][0]["id"])


# Running


def test_a_batch_runs_to_its_end_and_shows_what_came_of_it(baywright: Command) -> None:
    ran = baywright("batch", save("b.yaml", SHELVES))
    assert ran.status == 1  # some shelves do not fit
    lines = ran.text.splitlines()
    assert lines[0] == "Shelves   6 variants: 4 ok, 2 stop"
    assert lines[2].split() == ["width", "boards", "spare"] and lines[3].split() == ["mm", "mm"]
    assert re.split(r"\s{2,}", lines[5].strip()) == ["0", "✔ ok", "800", "1", "200"]
    assert re.split(r"\s{2,}", lines[8].strip()) == ["3", "✖ stop", "1200", "2", "-200"]
    assert "b.yaml:5:35: 80 cm is sent as 800.0 mm" in ran.errors.replace("800 mm", "800.0 mm")
    assert "Batch b-" in ran.errors and "6 variants" in ran.errors
    assert "\r" not in ran.errors  # no progress where nobody sees it


def test_without_a_stop_it_ends_with_0(baywright: Command) -> None:
    ran = baywright("batch", "run", save("b.yaml", NARROW))
    assert ran.status == 0 and "2 variants: 2 ok" in ran.text


def test_a_variant_that_fails_is_told_and_ends_with_1(baywright: Command) -> None:
    text = "calculator: shelf\nvary: [{pointer: /width_mm, values: [800, 666]}]\n"
    ran = baywright("batch", save("b.yaml", text))
    assert ran.status == 1
    assert "2 variants: 1 ok, 1 failed" in ran.text and "Nobody can say." in ran.text


def test_results_go_to_a_file_as_the_service_wrote_them(baywright: Command) -> None:
    ran = baywright("batch", save("b.yaml", SHELVES), "--csv", "out.csv")
    assert ran.status == 1 and "Wrote out.csv" in ran.errors
    rows = list(csv.reader(io.StringIO(Path("out.csv").read_text(), newline="")))
    assert rows[0][:5] == ["index", "status", "verdict", "/width_mm", "/boards_count"]
    assert [row[0] for row in rows[1:]] == list("012345")
    id = id_of(ran.errors)
    assert baywright("batch", "results", id, "--csv", "-").output == Path("out.csv").read_bytes()
    ran = baywright("batch", save("b.yaml", SHELVES), "--csv", "nowhere/out.csv")
    assert ran.status == 2 and "Cannot write nowhere/out.csv" in ran.errors


def test_one_batch_for_a_key_however_often(baywright: Command) -> None:
    file = save("b.yaml", NARROW)
    ids = {baywright("batch", file, "--detach", "--key", "my-own-key").text for _ in range(3)}
    assert len(ids) == 1 and ids.pop().startswith("b-")


def test_standard_input_and_json_for_programs(baywright: Command) -> None:
    ran = baywright("batch", "-", "--json", stdin=NARROW.encode())
    assert ran.status == 0 and json.loads(ran.output)["status"] == "successful"
    lines = baywright("batch", "results", last_batch(baywright), "--json").output.splitlines()
    assert [json.loads(each)["index"] for each in lines] == [0, 1]


def test_faults_point_into_the_file(baywright: Command) -> None:
    text = "calculator: shelf\nvary:\n  - pointer: /width_mm\n    values: [800, -1]\n"
    ran = baywright("batch", save("b.yaml", text))
    assert ran.status == 3
    assert "/vary/0/values/1: Must be at least 1" in ran.errors and "(b.yaml:4:19)" in ran.errors
    ran = baywright("batch", save("b.yaml", text.replace("-1", "3 kg")))
    assert ran.status == 2 and "b.yaml:4:19" in ran.errors and "needs a length" in ran.errors


def test_too_many_variants_are_refused_with_the_way_out(baywright: Command) -> None:
    values = list(range(1, 201))
    asked = {
        "calculator": "shelf",
        "vary": [
            {"pointer": "/width_mm", "values": values},
            {"pointer": "/mass_kg", "values": values},
        ],
    }
    ran = baywright("batch", save("b.json", json.dumps(asked)))
    assert ran.status == 3 and "make 40,000 variants; 10,000 are allowed" in ran.errors
    assert "to 50 or fewer" in ran.errors


# Units


def test_quantities_are_converted_wherever_they_vary(
    command: Command, baywright: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent: list[Any] = []
    make = Api.make_batch

    def spy(api: Api, body: Any, key: str) -> Answer:
        sent.append(body)
        return make(api, body, key)

    monkeypatch.setattr(Api, "make_batch", spy)
    ran = baywright("batch", save("b.yaml", PLAN), "--detach")
    assert ran.status == 0, ran.errors
    [body] = sent
    assert body["plan"]["steps"][0]["inputs"]["width_mm"] == 787.4
    assert [each["values"] for each in body["vary"]] == [
        [812.8],
        [10],
        [{"force_n": 98.0665}],
        [50.8],
    ]
    steps, patch, kit = body["variants"]
    assert steps["steps"][0]["inputs"]["width_mm"] == 304.8
    assert patch["json_patch"][0]["value"] == 609.6
    assert kit["kit"]["boards"][0]["pitch_mm"] == 76.2


# Afterwards


def test_batches_are_listed_shown_and_deleted(baywright: Command) -> None:
    id = baywright("batch", save("b.yaml", SHELVES), "--detach").text.strip()
    assert baywright("batch", "watch", id).status == 1
    listed = baywright("batch", "list").text
    assert id in listed and "successful" in listed and "6 of 6" in listed
    shown = baywright("batch", "show", id)
    assert shown.status == 0 and "4 ok, 2 stop" in shown.text and "Kept until" in shown.errors
    one = json.loads(baywright("batch", "results", id, "--item", "3", "--answer").output)
    assert one["inputs"] == {"width_mm": 1200, "boards_count": 2}
    assert one["answer"]["verdict"] == "stop"
    cancelled = baywright("batch", "cancel", id)
    assert f"{id} is successful; 0 variants were not done" in cancelled.text
    assert baywright("batch", "delete", id).status == 0
    for word in ("show", "watch", "results", "cancel", "delete"):
        assert baywright("batch", word, id).status == 3


@pytest.mark.parametrize("arguments", [["show"], ["watch", "../etc"], ["nonsense.yaml"]])
def test_usage_ends_with_2(baywright: Command, arguments: list[str]) -> None:
    ran = baywright("batch", *arguments)
    assert ran.status == 2 and "Traceback" not in ran.errors


def test_a_service_that_is_not_there_ends_with_4(command: Command) -> None:
    file = save("b.yaml", NARROW)
    assert command("--service", "http://127.0.0.1:9", "batch", file).status == 4


def test_a_full_queue_is_told_with_the_service_s_words(command: Command, stand_in: StandIn) -> None:
    stand_in.problem(429, type="/v1/problems/too-many-requests", title="Full", detail="1 waits.")
    ran = command("--service", stand_in.url, "batch", save("b.yaml", NARROW))
    assert ran.status == 3 and "refused: Full. 1 waits." in ran.errors


def test_ctrl_c_leaves_the_batch_and_says_how_to_go_on(
    baywright: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(api: Api, id: str, *, wait_s: int = 0) -> Answer:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(Api, "batch", interrupted)
        ran = baywright("batch", save("b.yaml", SHELVES))
    assert ran.status == 130
    command = re.search(r"baywright (batch watch b-\S+)", ran.errors)
    assert command
    again = baywright(*command[1].split(), "--csv", "out.csv")
    assert again.status == 1 and len(Path("out.csv").read_bytes().splitlines()) == 7


@pytest.mark.slow
def test_a_batch_of_our_own_service_goes_on_at_the_next_command(
    command: Command, tmp_path: Path
) -> None:
    """Interrupted while it runs; the store and what was calculated are there afterwards."""
    values = [1.0 + k / 100 for k in range(300)]
    asked = {
        "calculator": "ramp-run",
        "inputs": yaml.safe_load(command("show", "ramp-run", "--example").text),
        "vary": [{"pointer": "/gravity_m_s2", "values": [9 + v / 10 for v in values]}],
    }
    file = save("b.json", json.dumps(asked))
    arguments = [sys.executable, "-m", "baywright_client", "batch", file]
    first = subprocess.Popen(arguments, stderr=subprocess.PIPE, env=dict(os.environ), text=True)
    assert first.stderr
    id = id_of(first.stderr.readline())
    first.send_signal(signal.SIGINT)
    assert first.wait(30) == 130
    first.stderr.close()
    ran = command("batch", "watch", id, "--csv", "out.csv")
    assert "300 variants" in ran.text
    rows = list(csv.reader(Path("out.csv").read_text().splitlines()))
    assert [row[0] for row in rows[1:]] == [str(k) for k in range(300)]


# The line of progress


def counted(done: int, status: str = "running", total: int = 1000) -> dict[str, Any]:
    return {"status": status, "item_counts": {"total": total, "successful": done, "failed": 2}}


def test_the_line_says_how_far_how_fast_and_how_long_still() -> None:
    text = line(counted(498), 500, 25.0, 79)
    assert text.startswith("[####") and "500 of 1,000  2 failed  20 a second  25 s left" in text
    assert len(text) <= 79
    slow = line(counted(498), 5, 60.0, 79)
    assert "5 a minute" in slow and "1 h 40 min left" in slow
    assert line(counted(498), 500, 25.0, 20) == "500 of 1,000  2 fail"
    assert "left" not in line(counted(998, "successful"), 10, 1.0, 79)
    assert "waiting" in line({"status": "accepted", "item_counts": {"total": 5}}, 0, 0.0, 79)


def test_the_line_is_written_over_on_a_terminal_and_nowhere_else() -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    times = iter([0.0, 1.0])
    terminal = Terminal()
    shown = Line(terminal, lambda: next(times))
    shown.show(counted(0))
    shown.show(counted(100))
    shown.end()
    assert terminal.getvalue().count("\r") == 2 and terminal.getvalue().endswith("\n")
    assert "100 a second" in terminal.getvalue()
    pipe = io.StringIO()
    quiet = Line(pipe, lambda: 0.0)
    quiet.show(counted(5))
    quiet.end()
    assert pipe.getvalue() == ""


def test_columns_are_named_by_what_tells_them_apart() -> None:
    assert short_names(["/result/span_mm", "/result/overall_mm/y"]) == ["span mm", "overall y mm"]
    assert short_names(["/steps/grid/verdict", "/steps/parts/verdict", "/kit/rods/1"]) == [
        "grid verdict",
        "parts verdict",
        "rods 1",
    ]
    assert short_names(["/a/0/long", "/a/1/long", "/b/long"])[0] == "a 0 long"


@pytest.mark.parametrize("module", [batch_table, progress])
def test_examples_in_docstrings_run(module: Any) -> None:
    done = doctest.testmod(module)
    assert done.attempted > 0 and not done.failed


# The example


def test_the_example_varies_the_bays_of_the_demo_machine(baywright: Command) -> None:
    """It names a step, places and values that stand in the plan it takes in."""
    from baywright_client.files import load_object

    asked = load_object(str(examples() / "batch-bays.yaml")).value
    [grid, parts] = asked["plan"]["steps"]
    assert (grid["calculator"], parts["calculator"]) == ("grid-fit", "part-count")
    sections = grid["inputs"]["layout"]["sections"]
    assert [s["rods"]["y"] for s in sections] == [[{"rod": "R120", "count": 6}]] * 4
    places = [each["pointer"].split("/")[6] for each in asked["vary"]]
    assert places == ["0", "1", "2", "3"] and asked["combine"] == "zip"
