"""What a label tied to a section says. Numbers are those of the section's row."""

from collections.abc import Mapping, Sequence
from typing import Any

from .bodies import Body
from .setting_up import Step


def label_of(
    body: Body, row: Mapping[str, Any], steps: Sequence[Step], number: int
) -> dict[str, Any]:
    """Mass, people, way up, grips, the van, and when it is set up."""
    place = next(k for k, step in enumerate(steps) if step.section == number)
    alone = row["standing"][0]
    lines = [
        f"{body.id} {body.title}".strip(),
        f"{body.mass_kg:.1f} kg",
        f"Carry: {_people(row.get('people_count'))}{_on_stairs(row)}",
        f"Grip at {row['grips']['height_mm']:.0f} mm",
        f"Centre of mass {row['centre_mm'][2]:.0f} mm above its feet",
        _van(row),
        f"Tips at {alone['tip_deg']:.0f}° to the {alone['toward']}: hold it",
        f"Set up as number {place + 1} of {len(steps)}",
    ]
    return {
        "section": body.id,
        "lines": tuple(lines),
        "up_arrow": True,
        "centre_front_mm": [row["centre_mm"][0], row["centre_mm"][2]],
        "centre_side_mm": [row["centre_mm"][1], row["centre_mm"][2]],
    }


def _people(count: int | None) -> str:
    if count is None:
        return "on wheels only"
    return "one person" if count == 1 else f"{count} people"


def _on_stairs(row: Mapping[str, Any]) -> str:
    if len(row["ways"]) < 3:
        return ""
    count = row.get("people_stairs_count")
    return ", not on stairs" if count is None else f", {count} on stairs"


def _van(row: Mapping[str, Any]) -> str:
    if row["van"]["upright_ok"]:
        return "Van: upright, strapped"
    return (
        f"Van: lie down (upright {row['van']['ratio']:.2f}, wanted {row['van']['limit_ratio']:g})"
    )
