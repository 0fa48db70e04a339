"""What the builder should know of the sheets before printing them."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from .machine import Machine

#: Bays smaller on paper get no step numbers, and their diagonals run together.
READABLE_MM = 4.5


def findings_of(value: Mapping[str, Any], machine: Machine) -> list[Finding]:
    """Sheets too small to read, hubs that do not fit, and what is in the set."""
    found = []
    missing = int((machine.hub_kind < 0).sum())
    if missing:
        message = (
            f"No hub of the kit fits at {missing} places, marked “?”: see the parts list for why."
        )
        remedy = Remedy("Run the parts list, and change the rods or hubs that it names.")
        found.append(Finding("no-hub-fits", "stop", message, ("/frame",), remedy=remedy))
    found += _small(value["sheets"], value["paper"])
    kinds: dict[str, int] = {}
    for row in value["sheets"]:
        kinds[row["kind"]] = kinds.get(row["kind"], 0) + 1
    listed = ", ".join(f"{count} {kind}{'s' if count > 1 else ''}" for kind, count in kinds.items())
    rods, hubs = sum(value["rods_total"].values()), sum(value["hubs_total"].values())
    message = f"{value['sheets_count']} sheets ({listed}) for {hubs} hubs and {rods} rods."
    found.append(Finding("sheets-ready", "ok", message, ("/result/sheets",)))
    return found


def _small(sheets: Sequence[Mapping[str, Any]], paper: str) -> list[Finding]:
    small = [k for k, row in enumerate(sheets) if row["least_bay_mm"] < READABLE_MM]
    if not small:
        return []
    worst = min(small, key=lambda k: (sheets[k]["least_bay_mm"], k))
    row = sheets[worst]
    message = (
        f"On {len(small)} sheets bays are too small for step numbers; on {row['id']} "
        f"the shortest is {row['least_bay_mm']:.1f} mm on {paper.upper()}, {READABLE_MM:g} mm are "
        "needed. Lines and dimensions are there; the rest is on the other sheets and in the table."
    )
    measure = Measure(row["least_bay_mm"], READABLE_MM, "mm")
    words = "Print these sheets on A3" if paper == "a4" else "Divide the section"
    remedy = Remedy(f"{words}, or build from the sheets of levels and beams.")
    at = (f"/result/sheets/{worst}",)
    return [Finding("sheet-too-small", "watch", message, at, measure, remedy)]
