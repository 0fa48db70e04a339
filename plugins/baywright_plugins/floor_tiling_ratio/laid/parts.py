"""What a floor takes, in the shape part-count takes accessories in."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from .answer_lay import LaidFloor

Line = dict[str, Any]


def lines(*parts: Sequence[Line]) -> list[Line]:
    """Lines of one item and purpose once, zero counts left out, in the order they come."""
    counts: dict[tuple[str, str], int] = {}
    for line in (line for part in parts for line in part):
        key = line["item"], line["title"][:120]
        counts[key] = counts.get(key, 0) + line["count"]
    return [
        {"item": item, "count": count, "title": title}
        for (item, title), count in counts.items()
        if count
    ]


def in_kit(given: Sequence[Line], known: frozenset[str] | None) -> tuple[list[Line], list[Line]]:
    """Lines that a kit knows, and those it does not; all are known where there is no kit."""
    if known is None:
        return list(given), []
    return (
        [line for line in given if line["item"] in known],
        [line for line in given if line["item"] not in known],
    )


def laid_lines(
    lay: Mapping[str, Any], floor: LaidFloor, record: Mapping[str, Any], panel: str
) -> list[Line]:
    """Panels, strips, bearers and fixings of a laid floor. `record` is that of LaidOut."""
    found = [
        {"item": size["item"], "count": size["count"], "title": f"floor: {size['use']}"}
        for size in record["sizes"]
        if size["item"] == panel or "strip_item" in lay
    ]
    found += _bearers(lay, floor)
    if "fixing_item" in lay:
        fixed = [
            way.chosen.sheet.on_bearers + way.chosen.sheet.on_nodes
            for way in (floor.along, floor.across)
        ]
        title = "floor: panel corners over nodes"
        found.append({"item": lay["fixing_item"], "count": fixed[0] * fixed[1], "title": title})
    return found


def _bearers(lay: Mapping[str, Any], floor: LaidFloor) -> Iterator[Line]:
    title = "floor: bearers to add"
    for bearer in floor.along.chosen.bearers:
        if bearer.kind == "frame":
            continue
        if "bearer_item" in lay or floor.frame is None:
            item, count = lay.get("bearer_item", "bearer"), lay["bearer_pieces_count"]
            yield {"item": item, "count": count, "title": title}
            continue
        rods = floor.frame.lacking.get(bearer.at) or floor.frame.full
        for rod, count in rods.items():
            yield {"item": rod, "count": count, "title": title}


def slope_lines(record: Mapping[str, Any]) -> list[Line]:
    """Pieces under the supports. `record` is that of SlopeOut."""
    return [
        {"item": piece["item"], "count": piece["count"], "title": f"floor: {piece['use']}"}
        for piece in record["pieces"]
    ]


def net_lines(given: Mapping[str, Any], record: Mapping[str, Any]) -> list[Line]:
    """Net panels, spacers, posts. `record` is that of NettingOut."""
    rows, walls = record["rows_count"], record["walls"]
    net = given["net"]["item"]
    found = [
        {
            "item": net,
            "count": rows * sum(wall["panels_count"] for wall in walls),
            "title": "floor walls: whole net panels",
        },
        {
            "item": net,
            "count": rows * sum(wall["cut_count"] for wall in walls),
            "title": "floor walls: net panels to cut",
        },
        {
            "item": given["post_item"],
            "count": record["posts_count"] * given["post_pieces_count"],
            "title": "floor walls: posts",
        },
    ]
    for place, spacer in enumerate(given["spacers"]):
        count = rows * sum(wall["spacers_count"][place] for wall in walls)
        found.append({"item": spacer["item"], "count": count, "title": "floor walls: spacers"})
    return found


def plain_lines(floor: Mapping[str, Any]) -> list[Line]:
    """Panels, shims and fixings of a floor laid as one piece of frame (FloorOut)."""
    return [
        {"item": part["item"], "count": part["count"], "title": f"floor: {part['use']}"}
        for part in floor["parts"]
        if not part["item"].endswith("-cut")
    ]
