"""The machines that are built from one shelf, and the parts they share."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs

from ...frame import Frame, frame_of
from ...kit import Hub, Kit, Rod
from ..kit_parts import KitPart, kit_parts
from ..references import nearest
from ..tally import Tally, frame_tally

#: Pieces of one part beyond which whole-number programmes lose exactness.
MOST_PIECES = 10_000_000


@dataclass(frozen=True)
class Machine:
    """One machine, built `count` times; `pointer` leads to its inputs."""

    id: str
    pointer: str
    count: int
    kit: Kit
    stated: Mapping[str, Any]
    frame: Frame
    given: Mapping[str, Any]
    tally: Tally

    @property
    def layout(self) -> Mapping[str, Any] | None:
        """The layout its frame was made from, where it was."""
        return self.given.get("layout")

    def fixed(self) -> dict[str, int]:
        """Pieces by item that no programme changes: in joints and beside the frame."""
        found: dict[str, int] = {}
        for item, use in self.tally.uses.items():
            beside = self.tally.section_accessories.get(item)
            own = use.joints + use.accessories + (sum(beside.sections) if beside else 0)
            if own:
                found[item] = own * self.count
        return found


def machines_of(inputs: Mapping[str, Any]) -> list[Machine]:
    """The machines that inputs state: `machines`, or the one `frame`.

    Raises InvalidInputs: names of kits, parts or sections that are not there.
    """
    kits = kits_of(inputs)
    tolerance = inputs["port_tolerance_deg"]
    if "frame" in inputs:
        kit, stated = kits[""]
        frame = frame_of(inputs["frame"], kit)
        tally = frame_tally(frame, kit, inputs["accessories"], None, tolerance_deg=tolerance)
        return [Machine("machine", "", 1, kit, stated, frame, inputs["frame"], tally)]
    machines = []
    for place, row in enumerate(inputs["machines"]):
        pointer = f"/machines/{place}"
        kit, stated = named_kit(row, kits, pointer)
        frame = frame_of(row["frame"], kit, pointer=f"{pointer}/frame")
        _check_lengths(frame, pointer)
        _check_beside(row["accessories"], frame, kit, f"{pointer}/accessories")
        tally = frame_tally(frame, kit, row["accessories"], None, tolerance_deg=tolerance)
        machines.append(
            Machine(row["id"], pointer, row["count"], kit, stated, frame, row["frame"], tally)
        )
    return machines


Kits = dict[str, tuple[Kit, Mapping[str, Any]]]


def kits_of(inputs: Mapping[str, Any]) -> Kits:
    """Every kit by its id, with the inputs it was made from; the main one by "".

    Raises InvalidInputs where one id names two different parts.
    """
    kits: Kits = {"": (Kit.from_inputs(inputs["kit"]), inputs["kit"])}
    parts: dict[str, KitPart] = {part.id: part for part in kit_parts(kits[""][0])}
    faults = []
    for place, row in enumerate(inputs["more_kits"]):
        kits[row["id"]] = (Kit.from_inputs(row["kit"]), row["kit"])
        for part in kit_parts(kits[row["id"]][0]):
            if not _same(parts.setdefault(part.id, part), part):
                detail = f"{part.id} is another part than the {part.id} of a kit before it."
                faults.append((f"/more_kits/{place}/kit", Fault("not-unique", detail)))
    if faults:
        raise InvalidInputs(faults)
    return kits


def named_kit(row: Mapping[str, Any], kits: Kits, pointer: str) -> tuple[Kit, Mapping[str, Any]]:
    """The kit that `row` names, or the main one. Raises InvalidInputs."""
    name = row.get("kit", "")
    if name not in kits:
        known = [id for id in kits if id]
        detail = f"There is no kit “{name}” among more_kits.{nearest(name, known)}"
        raise InvalidInputs([(f"{pointer}/kit", Fault("unknown-reference", detail))])
    return kits[name]


def _same(one: KitPart, other: KitPart) -> bool:
    """Whether two kits mean the same part: what makes it fit and hold is equal."""
    if isinstance(one, Rod) and isinstance(other, Rod):
        return (one.pitch_um, one.diameter_mm, one.modulus_n_per_mm2, one.cut_mm) == (
            other.pitch_um, other.diameter_mm, other.modulus_n_per_mm2, other.cut_mm,
        )  # fmt: skip
    if isinstance(one, Hub) and isinstance(other, Hub):
        return (set(one.ports), one.two_part, one.role, one.seat) == (
            set(other.ports), other.two_part, other.role, other.seat,
        )  # fmt: skip
    return type(one) is type(other)


def _check_lengths(frame: Frame, pointer: str) -> None:
    pointlike = (frame.length_mm <= 0).nonzero()[0]
    if len(pointlike):
        where = f"{pointer}/frame/members/end/{int(pointlike[0])}"
        raise CannotCalculate(where, "Both ends lie at one point, so the rod takes no port.")


def _check_beside(rows: list[dict[str, Any]], frame: Frame, kit: Kit, pointer: str) -> None:
    items = [part.id for part in kit_parts(kit)]
    sections = [section.id for section in frame.sections]
    faults = []
    for place, row in enumerate(rows):
        if row["item"] not in items:
            detail = f"There is no part “{row['item']}”.{nearest(row['item'], items)}"
            fault = Fault("unknown-reference", detail)
            faults.append((f"{pointer}/{place}/item", fault))
        if row.get("section", sections[0]) not in sections:
            detail = f"There is no section “{row['section']}”.{nearest(row['section'], sections)}"
            fault = Fault("unknown-reference", detail)
            faults.append((f"{pointer}/{place}/section", fault))
    if faults:
        raise InvalidInputs(faults)
