"""What the programme says of itself: sources, assumptions, cautions, columns of the table."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Caution, Source

from .strength import KEPT_RATIO

SOURCES = (
    Source(
        "Gilmore and Gomory, Operations Research 9 (1961)", "cutting stock: patterns as columns"
    ),
    Source("HiGHS by scipy.optimize.milp", "branch and bound, with a proven bound"),
    Source("MIL-HDBK-338B", "section 10.6: spares by a Poisson quantile (from memory)"),
)

ASSUMPTIONS = (
    "Parts of one id are one part, whatever kit or shelf they come from.",
    "The programme makes least, in this order: pieces missing, spares missing, cost, pieces "
    "bought, minutes of taking apart, changes. Parts without a price cost nothing.",
    "Two rods in line stand where their limit over the required factor covers the greatest "
    "compression in any handling case and no other diagonal crosses; they are one softer member "
    "when the cases are solved again. Ball loads, travel and play are left out.",
    f"A case that falls short as stated must keep {KEPT_RATIO:.0%} of its factor; the others must "
    "reach the factor they need.",
    "The set is the best among those built on positions that no strength check turned down; where "
    "a section bears fewer changes than wanted, their number is sought by halving, nine choices at "
    "most. Left-out diagonals come from a bounded search.",
    "Pieces that a saw, a pack or an old machine gives beyond the need are left over.",
)

_COLUMNS = (
    "built_in_count",
    "reserve_count",
    "from_shelf_count",
    "salvaged_count",
    "sawn_count",
    "sawn_up_count",
    "bought_count",
    "still_short_count",
)


def table_columns(programme: Mapping[str, Any] | None) -> list[str]:
    """Columns that the programme adds to the table of parts."""
    return [] if programme is None else [*_COLUMNS, "replaced_by_pairs_count", "why"]


def table_row(programme: Mapping[str, Any] | None, item: str) -> list[Any]:
    """Their values for one part."""
    if programme is None:
        return []
    row: Mapping[str, Any] = next((r for r in programme["supplies"] if r["item"] == item), {})
    pairs = sum(
        len(change["copies"])
        for change in programme["changes"]
        if change["what"] == "pair" and change["rod"] == item
    )
    why = next((line["why"] for line in programme["purchases"] if line["item"] == item), "")
    return [*(row.get(name, 0) for name in _COLUMNS), pairs, why]


def programme_cautions(programme: Mapping[str, Any]) -> Sequence[Caution]:
    """Warnings that its lists call for."""
    found = []
    if programme["cuts"]:
        found.append(
            Caution(
                "Saw short rods in a mitre box or clamp, never held by hand, with eye protection; "
                "take off splinters and sharp edges."
            )
        )
    if programme["salvage"]:
        found.append(
            Caution(
                "An old machine may lean or fall once diagonals are out: support it, and take it "
                "apart from the top down. Leave out rods and hubs that are cracked or loose."
            )
        )
    if programme["changes_count"]:
        found.append(
            Caution(
                "Two rods in line fold if someone leans on them: mark them, and never carry or "
                "climb by them."
            )
        )
    return found
