"""The vehicle as part of the route: everything that goes along it is packed too."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Fault, Finding, InvalidInputs

from .things import Thing
from .vehicle import Cargo, vehicle_answers

Record = dict[str, Any]


def load_answers(
    vehicle: Mapping[str, Any], things: Sequence[Thing]
) -> tuple[Record, list[Finding]]:
    """Record and findings of the packed vehicle; what is kept upright on the route is so here.

    Raises InvalidInputs and CannotCalculate as `vehicle_answers`, and where a thing that is kept
    upright may not stand upright in the vehicle.
    """
    cargo = [
        Cargo(one.id, one.title, one.carried.size_mm, one.mass_kg, one.pointer) for one in things
    ]
    upright = [one.id for one in things if one.carried.keep_upright]
    return vehicle_answers({**vehicle, "items": _kept_upright(vehicle["items"], upright)}, cargo)


def _kept_upright(
    items: Sequence[Mapping[str, Any]], upright: Sequence[str]
) -> list[Mapping[str, Any]]:
    """Options with this side up for each of `upright`; places of those given stay the same."""
    faults = [
        (
            f"/vehicle/items/{k}/may_lie_on",
            Fault("out-of-range", f"{item['id']} is kept upright: z must be in the list."),
        )
        for k, item in enumerate(items)
        if item["id"] in upright and "z" not in item.get("may_lie_on", ("z",))
    ]
    if faults:
        raise InvalidInputs(faults)
    given = {item["id"] for item in items}
    return [
        *({**item, "this_side_up": True} if item["id"] in upright else item for item in items),
        *(
            {"id": id, "this_side_up": True, "do_not_stack": False}
            for id in upright
            if id not in given
        ),
    ]
