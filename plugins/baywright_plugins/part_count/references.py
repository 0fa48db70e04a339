"""Ids in the inputs that must name something: every fault with its place."""

import difflib
from collections.abc import Collection, Mapping
from typing import Any

from baywright_service.contract import Fault, InvalidInputs, escape

from ..frame import Frame
from ..kit import Kit
from .bill_of_materials import Circular, product_graph
from .kit_parts import kit_parts


def check_frame_references(inputs: Mapping[str, Any], frame: Frame, kit: Kit) -> None:
    """Raises InvalidInputs: an accessory, bag, section or rod that is not there, or a column of
    compressions that is not as long as the members."""
    items = [part.id for part in kit_parts(kit)]
    rods = [rod.id for rod in kit.rods]
    sections = [section.id for section in frame.sections]
    faults: list[tuple[str, Fault]] = []
    for place, row in enumerate(inputs["accessories"]):
        faults += _unknown(row, "item", items, "part", f"/accessories/{place}")
        faults += _unknown(row, "section", sections, "section", f"/accessories/{place}")
    for item in inputs["bag_sizes"]:
        faults += _unknown({item: item}, item, items, "part", "/bag_sizes")
    for place, row in enumerate(inputs.get("light_positions", ())):
        faults += _unknown(row, "section", sections, "section", f"/light_positions/{place}")
        faults += _unknown(row, "rod", rods, "rod", f"/light_positions/{place}")
    compression = inputs.get("member_compression_n")
    if compression is not None and len(compression) != len(frame.start):
        detail = f"Must hold {len(frame.start)} entries, one for each member of the frame."
        faults.append(("/member_compression_n", Fault("out-of-range", detail)))
    if faults:
        raise InvalidInputs(faults)


def check_assembly(assembly: Mapping[str, Any]) -> None:
    """Raises InvalidInputs: a top item that is not in the tree, an item that goes into itself."""
    tree = assembly["tree"]
    try:
        product_graph(tree)
    except Circular as circle:
        detail = f"An item goes into itself: {' -> '.join(circle.cycle)}."
        where = escape("assembly", "tree", circle.cycle[0], circle.cycle[1])
        raise InvalidInputs([(where, Fault("cycle", detail))]) from circle
    if assembly["top"] not in tree:
        faults = _unknown(assembly, "top", list(tree), "whole in the tree", "/assembly")
        raise InvalidInputs(faults)


def nearest(word: str, known: Collection[str]) -> str:
    """A hint at the nearest known name, or nothing."""
    close = difflib.get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f" Did you mean {close[0]}?" if close else ""


def _unknown(
    row: Mapping[str, Any], field: str, known: Collection[str], what: str, pointer: str
) -> list[tuple[str, Fault]]:
    if field not in row or row[field] in known:
        return []
    detail = f"There is no {what} “{row[field]}”.{nearest(row[field], known)}"
    return [(pointer + escape(field), Fault("unknown-reference", detail))]
