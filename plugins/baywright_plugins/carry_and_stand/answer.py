"""The result of carry-and-stand, put together from the numerics."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from .answer_moved import castors_row, van_row
from .bodies import Body, together
from .carrying import (
    Index,
    Way,
    level_people,
    lifting_indices,
    stairs_people,
    tilted_people,
)
from .labels import label_of
from .machine import Machine, lean_of, lifting_of
from .setting_up import best_order
from .shares import rests
from .standing import stand
from .team import team_kg

Row = Mapping[str, Any]


def answer(machine: Machine, inputs: Row) -> dict[str, Any]:
    """Everything but the remedies."""
    sections = [_section(body, inputs) for body in machine.bodies]
    set_up = best_order(machine.bodies, machine.couplings)
    names = [body.id for body in machine.bodies]
    setting = {
        "steps": [
            {
                "section": names[step.section],
                "coupled_to": tuple(names[k] for k in step.coupled_to),
                "alone_tip_deg": step.alone_tip_deg,
                "least_tip_deg": step.least_tip_deg,
            }
            for step in set_up.steps
        ],
        "least_tip_deg": set_up.least_tip_deg,
        "every_order_weighed": set_up.exact,
    }
    if set_up.worst_order_deg is not None:
        setting["worst_order_deg"] = set_up.worst_order_deg
    return {
        "sections": sections,
        "machine": machine_row(machine, inputs),
        "set_up": setting,
        "journey": _journey(sections, inputs),
        "labels": [
            label_of(body, row, set_up.steps, number)
            for number, (body, row) in enumerate(zip(machine.bodies, sections, strict=True))
        ],
    }


def _section(body: Body, inputs: Row) -> dict[str, Any]:
    crew = [float(kg) for kg in inputs["crew_kg"]]
    lifting, journey = lifting_of(inputs), inputs["journey"]
    by_size = 2 if max(body.size) >= inputs["two_people_from_mm"] else 1
    level, by_mass = level_people(body, crew, lifting, by_size)
    ways = [level, tilted_people(body, crew, lifting, by_size, journey["tilt_deg"])]
    if journey["stairs"]:
        slope = journey["stairs_slope_deg"]
        ways.append(stairs_people(body, crew, lifting, by_size, slope))
    base = body.base
    row: dict[str, Any] = {
        "id": body.id,
        "title": body.title,
        "mass_kg": body.mass_kg,
        "size_mm": list(body.size),
        "centre_mm": [
            body.centre[0] - body.low[0],
            body.centre[1] - body.low[1],
            body.height_of_centre,
        ],
        "base_mm": [base[2] - base[0], base[3] - base[1]],
        "base_at_mm": [base[0] - body.low[0], base[1] - body.low[1]],
        "people_by_size_count": by_size,
        "why": _why(level, by_mass, by_size),
        **_trip(journey),
        "grips": {
            "height_mm": body.grip_mm,
            "lying_low_mm": body.lying_mm[0],
            "lying_high_mm": body.lying_mm[1],
        },
        "ways": [_way(way, body) for way in ways],
        "lifting": _lifting(body, level, inputs),
        **_standing(body, inputs),
        "van": van_row(body),
    }
    counts = (
        ("people_count", level.people),
        ("people_by_mass_count", by_mass),
        ("people_stairs_count", ways[2].people if len(ways) > 2 else None),
    )
    return row | {name: count for name, count in counts if count is not None}


def _why(level: Way, by_mass: int | None, by_size: int) -> str:
    if level.people is None:
        return "more than the crew at hand, or three people, should carry"
    return "size" if by_mass is not None and by_mass < by_size else "mass"


def _trip(journey: Row) -> dict[str, Any]:
    """One way loaded with rests, back empty at twice the pace."""
    count = rests(journey["distance_m"], journey["rest_every_m"])
    walking = 1.5 * journey["distance_m"] / journey["speed_m_per_s"]
    return {
        "rests_count": count,
        "trip_s": walking + count * journey["rest_s"] + journey["handling_s"],
    }


def _way(way: Way, body: Body) -> dict[str, Any]:
    teams: tuple[tuple[int, ...], tuple[int, ...]] = (
        ((), ()) if way.team is None else (way.team.low, way.team.high)
    )
    other = {
        "its foot": "its head",
        "its head": "its foot",
        "the left end": "the right end",
        "the right end": "the left end",
        "the front": "the back",
        "the back": "the front",
    }[way.low_end]
    ends = []
    for name, share, team in (
        (way.low_end, way.low_kg, teams[0]),
        (other, way.high_kg, teams[1]),
    ):
        end: dict[str, Any] = {
            "end": name,
            "share_kg": share,
            "share_percent": 100 * share / body.mass_kg,
        }
        if team and way.people != 1:
            end |= {"people_count": len(team), "each_kg": share / len(team), "crew": list(team)}
        ends.append(end)
    row = {
        "way": way.way,
        "pose": way.pose,
        "tilt_deg": way.tilt_deg,
        "span_mm": way.span_mm,
        "hands_mm": way.hands_mm,
        "above_mm": way.above_mm,
        "ends": ends,
    }
    if way.people is not None:
        row["people_count"] = way.people
    if way.bears_kg is not None:
        row["team_bears_kg"] = way.bears_kg
    return row


def _lifting(body: Body, level: Way, inputs: Row) -> dict[str, Any]:
    lifting = lifting_of(inputs)
    people = level.people or min(len(inputs["crew_kg"]), 3)
    origin, destination = lifting_indices(body, level, people, lifting)
    row = {"origin": _lift(origin, body.grip_mm)}
    row["destination"] = _lift(destination, body.grip_mm + lifting.lifted_mm)
    for count in (1, 2, 3):
        indices = [each.index for each in lifting_indices(body, level, count, lifting)]
        if all(index is not None and index <= 1 + 1e-9 for index in indices):
            return row | {"people_for_one_count": count}
    return row


def _lift(index: Index, hands_mm: float) -> dict[str, Any]:
    row = {
        "hands_mm": hands_mm,
        "limit_kg": index.limit.limit_kg,
        "multipliers": list(index.limit.multipliers),
        "load_kg": index.load_kg,
    }
    return row if index.index is None else row | {"index_ratio": index.index}


def _standing(body: Body, inputs: Row) -> dict[str, Any]:
    gravity, slope, lean = inputs["gravity_m_s2"], inputs["slope_deg"], lean_of(inputs)
    rows = [asdict(stand(body, "standing", lean, gravity=gravity, slope_deg=slope))]
    trolley = inputs.get("trolley")
    if trolley is None or body.id not in trolley.get("sections", (body.id,)):
        return {"standing": rows}
    rows.append(
        asdict(
            stand(
                body, "on castors", lean, gravity=gravity, slope_deg=slope,
                raised_mm=trolley["raised_mm"], outward_mm=-trolley["inset_mm"],
            )
        )
    )  # fmt: skip
    castors = castors_row(body, trolley, gravity)
    return {"standing": rows} | ({} if castors is None else {"castors": castors})


def machine_row(machine: Machine, inputs: Row) -> dict[str, Any]:
    """All sections coupled, without the remedies."""
    whole = together(machine.bodies, inputs["loose_kg"])
    lean, holding, gravity = lean_of(inputs), inputs["holding"], inputs["gravity_m_s2"]
    standing = stand(
        whole, "standing", lean, gravity=gravity, slope_deg=inputs["slope_deg"],
        outward_mm=holding["outrigger_mm"], ballast_kg=holding["ballast_kg"],
        ballast_mm=holding["ballast_height_mm"],
    )  # fmt: skip
    row = {
        "mass_kg": whole.mass_kg,
        "sections_kg": whole.mass_kg - inputs["loose_kg"],
        "centre_mm": [
            whole.centre[0] - whole.low[0],
            whole.centre[1] - whole.low[1],
            whole.height_of_centre,
        ],
        "size_mm": list(whole.size),
        "standing": asdict(standing),
        "coupled": _all_coupled(machine),
        "remedies": [],
    }
    if "tie_height_mm" in holding:
        weight = standing.mass_kg * gravity
        row["tie_n"] = lean.tie_n(
            weight,
            1000 * standing.holding_moment_nm / weight,
            standing.lean_at_mm,
            holding["tie_height_mm"],
        )
    return row


def _all_coupled(machine: Machine) -> bool:
    seen = {0}
    for _ in machine.bodies:
        seen |= {b for pair in machine.couplings for b in pair if set(pair) & seen}
    return len(seen) == len(machine.bodies)


def _journey(sections: Sequence[Row], inputs: Row) -> dict[str, Any]:
    crew = [float(kg) for kg in inputs["crew_kg"]]
    people = [row.get("people_count", min(len(crew), 3)) for row in sections]
    seconds = [row["trip_s"] for row in sections]
    row = {
        "trips_count": len(sections),
        "total_min": sum(seconds) / 60,
        "person_min": sum(p * s for p, s in zip(people, seconds, strict=True)) / 60,
        "most_people_count": max(people),
    }
    for count, name in ((2, "crew_bears_two_kg"), (3, "crew_bears_three_kg")):
        bears = team_kg(crew[:count])
        if len(crew) >= count and bears is not None:
            row[name] = bears
    return row
