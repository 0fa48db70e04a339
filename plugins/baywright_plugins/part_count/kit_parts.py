"""Every part of a kit in one row: rods, hubs, items."""

from ..kit import Hub, Item, Kit, Rod

KitPart = Rod | Hub | Item


def kit_parts(kit: Kit) -> list[KitPart]:
    """Rods, hubs and items, each in the order of the kit."""
    return [*kit.rods, *kit.hubs, *kit.items]


def title_of(part: KitPart) -> str:
    """What the kit calls it; a rod by its pitch."""
    if isinstance(part, Rod):
        return f"rod of pitch {part.pitch_mm:g} mm"
    return part.title or part.id


def kind_of(part: KitPart) -> str:
    """rod, hub, mid-hub, or the kit's word for an item."""
    if isinstance(part, Rod):
        return "rod"
    if isinstance(part, Hub):
        return "mid-hub" if part.role == "middle" else "hub"
    return part.kind
