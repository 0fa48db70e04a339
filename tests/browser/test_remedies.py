"""A remedy's patch goes where the value really stands; every one of the demo fits its plan."""

from collections.abc import Callable
from typing import Any

import requests

from baywright_service.server import RunningServer

Open = Callable[..., Any]
PUT_IN = """
async ([plan, index, patch, stored]) => {
  const { remedied } = await import('/dashboard/remedies.js');
  const before = JSON.stringify(plan);
  try {
    const { plan: changed, changes, notes } =
      await remedied(plan, index, patch, async (kind, id) => stored[`${kind} ${id}`]);
    return { changed, changes, notes, kept: JSON.stringify(plan) === before };
  } catch (error) {
    return { refused: error.message };
  }
}
"""
PLAN: dict[str, Any] = {
    "kit": {"id": "loft"},
    "steps": [
        {"id": "grid", "title": "The grid", "inputs": {"layout": {"bays": 6, "rod": "R120"}}},
        {
            "id": "route",
            "inputs": {
                "frame": {"$ref": "#/steps/grid/result/frame"},
                "doors": [{"width_mm": 700}],
            },
        },
    ],
}
STORED = {"kit loft": {"rods": [{"id": "R120", "pitch_mm": 120}], "title": "Loft"}}


def test_a_patch_is_put_where_the_value_stands(small: RunningServer, open_page: Open) -> None:
    page = open_page(small)

    def put(index: int, patch: Any) -> Any:
        return page.evaluate(PUT_IN, [PLAN, index, patch, STORED])

    own = put(0, {"layout": {"bays": 5}})
    assert own["changed"]["steps"][0]["inputs"] == {"layout": {"bays": 5, "rod": "R120"}}
    assert own["changes"] == [{"place": "/steps/0/inputs/layout/bays", "before": 6, "after": 5}]
    assert own["kept"] and own["notes"] == []

    passed_on = put(1, {"frame": {"layout": {"bays": 5, "rod": None}}})
    assert passed_on["changed"]["steps"][0]["inputs"] == {"layout": {"bays": 5}}
    assert passed_on["changed"]["steps"][1] == PLAN["steps"][1]
    assert passed_on["notes"] == ["It comes from step “The grid” and is changed there."]

    worked_out = put(1, {"frame": {"nodes_mm": [[0, 0, 0]]}})
    assert "comes from step “The grid”, which works it out itself" in worked_out["refused"]

    shared = put(1, {"kit": {"title": "Shed"}})
    assert shared["changed"]["kit"] == {**STORED["kit loft"], "title": "Shed"}
    assert shared["notes"] == ["The kit is shared by all steps of the plan."]

    added = put(1, {"doors": [{"width_mm": 800}], "more": {"deep": 1, "gone": None}})
    assert added["changed"]["steps"][1]["inputs"]["doors"] == [{"width_mm": 800}]
    assert added["changed"]["steps"][1]["inputs"]["more"] == {"deep": 1}


def test_every_remedy_of_the_demo_makes_a_plan_the_service_takes(
    demo: RunningServer, open_page: Open
) -> None:
    """Storing checks a plan whole, without running it."""
    page = open_page(demo, "#/calculators")
    tried = 0
    for id in ("returns-desk-planned", "returns-desk-changed"):
        plan = requests.get(f"{demo.url}/v1/plans/{id}", timeout=60).json()
        answer = requests.get(f"{demo.url}/v1/plans/{id}/answer", timeout=300).json()
        kit = requests.get(f"{demo.url}/v1/kits/returns-desk", timeout=60).json()
        stock = requests.get(f"{demo.url}/v1/stocks/returns-desk", timeout=60).json()
        stored = {"kit returns-desk": kit, "stock returns-desk": stock}
        order = [step["id"] for step in plan["steps"]]
        for finding in answer["findings"]:
            patch = finding.get("remedy", {}).get("patch")
            if patch is None:
                continue
            index = order.index(finding["step"])
            done = page.evaluate(PUT_IN, [plan, index, patch, stored])
            assert "refused" not in done, (finding["step"], finding["code"], done)
            assert done["changes"]
            place = f"{demo.url}/v1/plans/tried-{tried}"
            put = requests.put(
                place, json=done["changed"], headers={"If-None-Match": "*"}, timeout=60
            )
            assert put.status_code == 201, (finding["step"], finding["code"], put.text[:500])
            requests.delete(place, headers={"If-Match": put.headers["ETag"]}, timeout=60)
            tried += 1
    assert tried > 15
