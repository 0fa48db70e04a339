"""The demo: two plans, told one after the other, and one report."""

import json
import re
import shutil
from pathlib import Path

import pytest

from baywright_client.api import Api
from baywright_client.cli import status_of
from baywright_client.demo import STORY, examples, tell
from tests.client.helpers import TOKEN, shelf_service

PLANNED = """\
title: Shelves, as planned
kit: {$file: kit.yaml}
steps:
  - id: lower
    calculator: shelf
    title: Does the lower shelf fit?
    inputs: {width_mm: 4 ft}
  - id: upper
    calculator: shelf
    title: Does the upper shelf fit?
    inputs: {width_mm: 666}
"""
CHANGED = PLANNED.replace("4 ft", "3 ft").replace("666", "600").replace("planned", "changed")


@pytest.fixture
def story(tmp_path: Path) -> Path:
    source = tmp_path / "story"
    source.mkdir()
    (source / "kit.yaml").write_text("boards: [{id: R60, pitch_mm: 60}]\n")
    (source / "planned.yaml").write_text(PLANNED)
    (source / "changed.yaml").write_text(CHANGED)
    return source


def test_any_two_plans_can_be_told(
    story: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Findings of both, what could not be calculated, verdicts side by side, every file."""
    with shelf_service() as url:
        api = Api(url, token=TOKEN)
        first, second = (tell(api, tmp_path / name, story) for name in ("one", "two"))
    text = capsys.readouterr().out
    assert text.index("Shelves, as planned") < text.index("Shelves, as changed")
    assert "lower: The board is too wide." in text and "Saw it off." in text
    assert "Nobody can say." in text
    assert re.search(r"Does the lower shelf fit\? +✖ stop +✔ ok", text)
    assert re.search(r"the whole plan +✖ stop +✔ ok", text)
    html = first.read_text("utf-8")
    assert "Before and after" in html and html.count("<svg") == 3
    assert json.loads((tmp_path / "one/changed/plan.json").read_bytes())["verdict"] == "ok"
    assert (tmp_path / "one/planned/lower.csv").exists()
    assert not (tmp_path / "one/planned/upper.csv").exists()
    assert second.read_bytes() == first.read_bytes()
    papers = [page.with_suffix(".pdf").read_bytes() for page in (first, second)]
    assert papers[0] == papers[1] and papers[0].startswith(b"%PDF")


def test_the_demo_needs_nothing_but_its_own_files() -> None:
    for name in STORY:
        assert (examples() / f"{name}.yaml").is_file()


@pytest.mark.slow
def test_the_returns_desk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`baywright demo` ends with 0 though the first plan must not be built, and says so."""
    monkeypatch.delenv("BAYWRIGHT_SERVICE", raising=False)
    monkeypatch.chdir(tmp_path)
    assert status_of(["demo", "--output", "told"]) == 0
    text = capsys.readouterr().out
    assert str(tmp_path / "told" / "report.html") in text
    planned = json.loads(Path("told/planned/plan.json").read_bytes())
    changed = json.loads(Path("told/changed/plan.json").read_bytes())
    assert planned["verdict"] == "stop" and changed["verdict"] != "stop"
    assert all(step["status"] == "done" for step in [*planned["steps"], *changed["steps"]])
    html = Path("told/report.html").read_text("utf-8")
    assert "Before and after" in html and "<script" not in html
    assert Path("told/report.pdf").read_bytes().startswith(b"%PDF")
    shutil.rmtree("told")
