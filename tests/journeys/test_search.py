"""From a search to a machine: what the search writes runs as it is."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from baywright_client.outputs import plan_text, plans_in

PLAN = {"title": "M1 – “small”", "steps": [{"id": "grid", "calculator": "grid-fit"}]}


def test_proposed_plans_are_found_in_any_list_of_a_result() -> None:
    result = {
        "count": 2,
        "machines": [{"id": "M1", "plan": PLAN}, {"id": "M2", "plan": "none"}, "text"],
        "other": [{"plan": {"steps": "no list"}}],
    }
    assert list(plans_in(result)) == [("M1", PLAN)]
    assert list(plans_in(None)) == [] == list(plans_in([PLAN]))


def test_a_plan_file_reads_back_as_the_plan() -> None:
    assert yaml.safe_load(plan_text(PLAN)) == PLAN


@pytest.mark.slow
def test_each_machine_found_runs_from_its_file_and_gives_the_numbers_of_the_search(
    tmp_path: Path,
) -> None:
    """Parts and mass by the search and by part-count on the file it wrote."""

    def baywright(*arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "baywright_client", *arguments]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)

    example = baywright("show", "design-search", "--example", "1")
    (tmp_path / "wanted.json").write_text(example.stdout)
    searched = baywright("search", "wanted.json", "--json")
    assert searched.returncode == 0, searched.stderr
    machines = json.loads(searched.stdout)["result"]["machines"]
    assert len(machines) > 2
    for machine in machines[:2]:
        ran = baywright("plan", f"search-result/design-search-{machine['id']}.yaml", "--json")
        assert ran.returncode in (0, 1), ran.stderr
        steps = {step["id"]: step for step in json.loads(ran.stdout)["steps"]}
        totals = steps["parts"]["envelope"]["result"]["totals"]
        assert totals["mass_kg"] == pytest.approx(machine["mass_kg"], rel=1e-9)
