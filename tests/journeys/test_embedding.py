"""The examples for somebody else's page, sheet or script do what they say."""

import csv
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import requests

import baywright_client
from baywright_client.api import Api
from baywright_client.stored_demo import store_demo
from baywright_service.server import start
from baywright_service.settings import Settings

pytestmark = pytest.mark.slow
EXAMPLES = Path(baywright_client.__file__).parent / "examples" / "embedding"


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A service that holds the demo's plans."""
    store = tmp_path_factory.mktemp("store") / "documents.sqlite3"
    settings = Settings(port=0, store=str(store), calculation_limit_s=120.0)
    with start(settings) as server:
        assert store_demo(Api(server.url)) == ["returns-desk-planned", "returns-desk-changed"]
        yield server.url


def test_storing_the_demo_again_keeps_what_the_builder_changed(service: str) -> None:
    place = f"{service}/v1/plans/returns-desk-planned"
    stored = requests.get(place, timeout=10)
    changed = {**stored.json(), "title": "Mine"}
    tag = {"If-Match": stored.headers["ETag"]}
    assert requests.put(place, json=changed, headers=tag, timeout=10).status_code == 200
    store_demo(Api(service))
    assert requests.get(place, timeout=10).json()["title"] == "Mine"


def test_the_notebook_runs(
    service: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BAYWRIGHT_SERVICE", service)
    cells = json.loads((EXAMPLES / "notebook.ipynb").read_text())["cells"]
    code = "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    exec(compile(code, "notebook", "exec"), {"__name__": "notebook"})
    said = capsys.readouterr().out
    assert "The Returns Desk, as changed - " in said
    assert re.search(r"100\.0 (ok|watch|stop) ", said) and " rows with item, " in said


def test_a_spreadsheet_finds_the_table_where_the_page_says(service: str) -> None:
    address = re.findall(
        r"http://127\.0\.0\.1:8080(\S+)", (EXAMPLES / "spreadsheet.md").read_text()
    )
    table = requests.get(service + address[0], timeout=120)
    assert table.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    rows = list(csv.DictReader(io.StringIO(table.text)))
    assert {"R120", "R85"} <= {row["item"] for row in rows}


def test_the_addresses_of_the_readme_answer(service: str) -> None:
    plan = f"{service}/v1/plans/returns-desk-changed"
    places = re.findall(r"^\| `(/[a-z/{}?=…]+)`", (EXAMPLES / "README.md").read_text(), re.M)
    assert "/summary" in places
    for place in places:
        if not place.startswith("/v1/"):
            address = plan + place.replace("{step}", "grid").replace("?view=…", "")
            if "/table" in address:
                address = address.replace("grid", "parts")
            assert requests.get(address, timeout=120).status_code == 200, place


def test_the_shell_loop_says_a_verdict_for_each_panel(service: str, tmp_path: Path) -> None:
    environment = {
        **os.environ,
        "BAYWRIGHT_SERVICE": service,
        "PATH": f"{Path(sys.executable).parent}:{os.environ['PATH']}",
    }
    ran = subprocess.run(
        [EXAMPLES / "variants.sh"],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    lines = ran.stdout.splitlines()
    assert len(lines) == 4 and all(re.fullmatch(r"panels of .* mm: (fine|stop)", x) for x in lines)
    answer = json.loads((tmp_path / "panel-100.json").read_text())
    assert (answer["verdict"] == "stop") == ("100 mm: stop" in lines[0])
