"""The README's examples work as printed, and its tables name every calculator."""

import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
import requests

from baywright_service.registry import installed
from baywright_service.server import start
from baywright_service.settings import Settings

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
CURLS = re.findall(r"```sh\n(curl .*?)```", README, re.S)


@pytest.fixture(scope="module")
def url() -> Iterator[str]:
    with start(Settings(port=0)) as server:
        yield server.url.rstrip("/")


def answer(command: str, url: str) -> str:
    """What the printed command answers, sent to the service of this test."""
    if shutil.which("curl") is None:
        pytest.skip("this machine has no curl")
    here = command.replace("http://127.0.0.1:8080", url).replace("curl -s", "curl -sS --fail", 1)
    done = subprocess.run(["bash", "-c", here], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_ratio_of_floor_and_bays(url: str) -> None:
    """The first example: three bays meet seven tiles, as JSON, picture and table."""
    ratios = [c for c in CURLS if "calculators/floor-tiling-ratio" in c]
    [told] = [c for c in ratios if "Accept" not in c and "csv" not in c]
    ratio = json.loads(answer(told, url))["result"]["pairs"][0]["ratio"]
    assert (ratio["first_count"], ratio["second_count"]) == (3, 7)
    [drawn] = [c for c in CURLS if "image/svg+xml" in c]
    assert answer(drawn, url).startswith("<svg ")
    [listed] = [c for c in CURLS if "format=csv" in c]
    assert "misfit_mm" in answer(listed, url).splitlines()[0]


def test_hanger_of_three_bars(url: str) -> None:
    """The truss example: the bars' vertical parts carry the 1,000 N."""
    [command] = [c for c in CURLS if "truss-check" in c]
    [case] = json.loads(answer(command, url))["result"]["load_cases"]
    left, middle, right = case["member_force_n"]
    assert left == pytest.approx(right)
    assert left * 2**0.5 + middle == pytest.approx(1000.0)


def test_many_variants(url: str) -> None:
    """The batch example: four pitches, each exactly once; sent again, it is the same batch."""
    [command] = [c for c in CURLS if "/v1/batches" in c]
    batch = json.loads(answer(command, url))
    assert batch["item_counts"]["total"] == 4
    assert json.loads(answer(command, url))["id"] == batch["id"]
    place = f"{url}/v1/batches/{batch['id']}"
    for _ in range(60):
        if requests.get(place, headers={"Prefer": "wait=5"}, timeout=30).json()["status"] in (
            "successful",
            "failed",
        ):
            break
    rows = requests.get(f"{place}/results?format=csv", timeout=30).text.splitlines()
    assert [row.split(",")[:2] for row in rows[1:]] == [[str(k), "successful"] for k in range(4)]


def test_stored_kit(url: str) -> None:
    """The document example: a kit is stored once."""
    [command] = [c for c in CURLS if "/v1/kits/" in c]
    assert json.loads(answer(command, url))["rods"][0]["id"] == "R120"


def test_every_curl_example_is_run_here() -> None:
    """Six examples: one more in the README needs a test above."""
    assert len(CURLS) == 6


def test_every_calculator_stands_in_the_table() -> None:
    """The table of sources has a row for each built-in calculator, with four cells."""
    rows = re.findall(r"^\| `([a-z-]+)` \|(.*)\|$", README, re.M)
    assert {name for name, _ in rows} == set(installed(built_in_only=True).calculators)
    assert all(len([c for c in cells.split("|") if c.strip()]) == 3 for _, cells in rows)
