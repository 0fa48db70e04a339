"""What the tests of the packing share: inputs made in a line, and a judge of finished records."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_plugins.route_fit.vehicle import Cargo, VehicleSchema, vehicle_answers
from baywright_plugins.route_fit.vehicle.model import Block, Room, Thing, Way
from baywright_plugins.route_fit.vehicle.plan_search import Spot
from baywright_service.contract import Finding

from .brute import Cuboid, Fixed

Record = Mapping[str, Any]


def thing_of(cuboid: Cuboid, height: int) -> Thing:
    """The same box for the search, without ways that are too high."""
    ways: dict[tuple[int, int, int], dict[tuple[int, int], None]] = {}
    for along, across, up in cuboid.sizes:
        if up <= height:
            key = (up, min(along, across), max(along, across))
            ways.setdefault(key, {})[along, across] = None
    return Thing(
        tuple(Way(key[0], tuple(sizes)) for key, sizes in ways.items()),
        cuboid.mass,
        cuboid.carries,
    )


def room_of(size: tuple[int, int, int], fixed: Sequence[Fixed] = ()) -> Room:
    """The same room for the search."""
    return Room(
        *size,
        tuple(Block(Spot(*f.corner, f.size[0], f.size[1]), f.size[2], f.bears) for f in fixed),
    )


def load(
    boxes: Mapping[str, tuple[float, float, float]],
    bay: tuple[float, float, float],
    *,
    masses: Mapping[str, float] | None = None,
    **options: Any,
) -> tuple[Record, list[Finding]]:
    """Record and findings of boxes in a bay."""
    body = {"length_mm": bay[0], "width_mm": bay[1], "height_mm": bay[2], **options}
    cargo = [
        Cargo(name, "", size, (masses or {}).get(name), f"/boxes/{k}")
        for k, (name, size) in enumerate(boxes.items())
    ]
    return vehicle_answers(VehicleSchema().load(body), cargo)


def judge(record: Record, sizes: Mapping[str, tuple[float, float, float]], **rules: Any) -> None:
    """Hold a packing to the rules, from the numbers in the record alone.

    Everything there once in its own size; inside the bay and clear of what is fixed; apart from
    one another by the gap; on the floor, or wholly on others (over gaps between them); loaded in an
    order in which each can be pushed straight in.
    """
    gap, walls = rules.get("gap_between_mm", 0.0), rules.get("gap_walls_mm", 0.0)
    bare = {item["id"] for item in rules.get("items", ()) if item.get("do_not_stack")}
    rows = record["placements"]
    assert sorted(row["id"] for row in rows) == sorted(sizes)
    for row in rows:
        assert sorted(row["size_mm"]) == sorted(sizes[row["id"]])
        low = [*row["at_mm"]]
        high = [a + s for a, s in zip(low, row["size_mm"], strict=True)]
        length, width, height = record["bay_mm"]
        assert low[0] >= walls - 1e-6 and low[1] >= walls - 1e-6 and low[2] >= 0
        assert high[0] <= length - walls + 1e-6 and high[1] <= width - walls + 1e-6
        assert high[2] <= height - walls + 1e-6
        for other in record["blocked"]:
            corner = (*other["at_mm"], 0.0)
            assert apart(low, row["size_mm"], corner, other["size_mm"], gap)
    for k, row in enumerate(rows):
        for other in rows[:k]:
            assert apart(row["at_mm"], row["size_mm"], other["at_mm"], other["size_mm"], gap)
            assert not (rules.get("rear_only", True) and in_the_way(row, other))
        if row["on"] != ["floor"] and not row["on"][0].startswith("blocked"):
            below = [other for other in rows if other["id"] in row["on"]]
            assert not bare & set(row["on"])
            assert all(
                abs(other["at_mm"][2] + other["size_mm"][2] - row["at_mm"][2]) < 1e-6
                and other["order"] < row["order"]
                for other in below
            )
            covered = sum(common(row, other, gap) for other in below)
            assert covered >= (row["size_mm"][0] + gap) * (row["size_mm"][1] + gap) - 1e-3
        elif row["on"] == ["floor"]:
            assert row["at_mm"][2] == 0
    assert record["used_length_mm"] == max(r["at_mm"][0] + r["size_mm"][0] for r in rows)


def apart(
    a: Sequence[float], size_a: Sequence[float], b: Sequence[float], size_b: Sequence[float],
    gap: float,
) -> bool:  # fmt: skip
    """Apart by the gap along or across, or one above the other."""
    return any(
        a[axis] + size_a[axis] + room <= b[axis] + 1e-6
        or b[axis] + size_b[axis] + room <= a[axis] + 1e-6
        for axis, room in ((0, gap), (1, gap), (2, 0.0))
    )


def in_the_way(later: Record, earlier: Record) -> bool:
    """Would the later one have to pass through the earlier one, pushed straight in?"""
    beside = all(
        later["at_mm"][axis] < earlier["at_mm"][axis] + earlier["size_mm"][axis] - 1e-6
        and earlier["at_mm"][axis] < later["at_mm"][axis] + later["size_mm"][axis] - 1e-6
        for axis in (1, 2)
    )
    return beside and bool(earlier["at_mm"][0] > later["at_mm"][0])


def common(a: Record, b: Record, gap: float) -> float:
    """Area two things share seen from above, half the gap counted with each side."""
    sides = [
        min(a["at_mm"][k] + a["size_mm"][k], b["at_mm"][k] + b["size_mm"][k])
        + gap
        - max(a["at_mm"][k], b["at_mm"][k])
        for k in (0, 1)
    ]
    return sides[0] * sides[1] if min(sides) > 0 else 0.0
