"""What the builder should know about the count."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from .references import nearest

#: Rod ends one builder can seat without a word about breaks; common practice, no source.
MANY_SNAPS = 1000
#: Push above which a tool should do the pushing; common practice, no source.
HARD_PUSH_N = 45.0
#: Minutes of pause in each hour of repetitive thumb work.
PAUSE_MIN_PER_HOUR = 5

Row = Mapping[str, Any]


def shortages(
    parts: Sequence[Row],
    substitutions: Sequence[Row],
    stock: Mapping[str, Any],
    proves: Callable[[str], bool],
) -> list[Finding]:
    """Parts that the shelf does not hold. `proves(item)` re-runs with substitutes built in."""
    found = []
    for row in parts:
        if row["kind"] == "hub" or not row["short_count"]:
            continue
        ways = [s for s in substitutions if s["rod"] == row["item"] and s["pairs_count"]]
        found += _short(row, ways, _at(stock, row["item"]), proves)
    return found


def _short(
    row: Row, ways: Sequence[Row], at: tuple[str, ...], proves: Callable[[str], bool]
) -> list[Finding]:
    item, short, free = row["item"], row["short_count"], row["free_count"]
    measure = Measure(row["needed_count"], free, "1")
    if row["kind"] == "rod" and ways and ways[0]["applied"]:
        found = [_covered(row, ways, at)]
        if row["to_buy_count"]:
            message = (
                f"{item}: {row['needed_count']} needed, {free} free. Pairs in line stand for "
                f"{row['replaced_count']}; buy {row['to_buy_count']}."
            )
            remedy = Remedy(f"Buy {row['to_buy_count']} {item}.")
            found.append(Finding("short-of-parts", "stop", message, at, measure, remedy))
        return found
    message = f"{item}: {row['needed_count']} needed, {free} free, {short} short."
    buy = f"Buy {short} {item}"
    if not ways:
        return [
            Finding("short-of-parts", "stop", f"{message} {buy}.", at, measure, Remedy(f"{buy}."))
        ]
    still = ways[0]["still_short_count"]
    pairs = " and ".join(_pair_words(way) for way in ways)
    if still:
        message += f" With {pairs} still {still} short: buy {still}."
        remedy = Remedy(f"{buy}, or {still} and build in {pairs}.")
        return [Finding("short-of-parts", "stop", message, at, measure, remedy)]
    message += f" Build in {pairs}, or buy {short}."
    patch = {"use_substitutes": True} if proves(item) else None
    return [
        Finding(
            "short-of-parts", "watch", message, at, measure, Remedy(f"Build in {pairs}.", patch)
        )
    ]


def _covered(row: Row, ways: Sequence[Row], at: tuple[str, ...]) -> Finding:
    way = ways[0]
    pairs = " and ".join(_pair_words(one) for one in ways)
    known = "light_positions_count" in way
    message = f"{row['item']}: {row['short_count']} short; {pairs} stand in"
    if known:
        message += f", out of {way['light_positions_count']} positions light enough."
    elif "compression_allowed_n" in way:
        message += (
            f". Choose positions pressed with at most {way['compression_allowed_n']:.1f} N in "
            f"every load case, and mark them."
        )
    else:
        message += ". Choose positions that are never pressed, and mark them."
    limit = way["light_positions_count"] if known else row["short_count"]
    measure = Measure(row["replaced_count"], limit, "1")
    return Finding("substitution-covers", "ok" if known else "watch", message, at, measure)


def _pair_words(way: Row) -> str:
    rods = (
        f"2 {way['first']}"
        if way["first"] == way["second"]
        else f"1 {way['first']} and 1 {way['second']}"
    )
    what = "pair" if way["pairs_count"] == 1 else "pairs"
    return f"{way['pairs_count']} {what} of {rods} in line with a {way['mid_hub']} between them"


def hubs_short(kinds: Row, parts: Sequence[Row], stock: Mapping[str, Any]) -> list[Finding]:
    """Hubs of the frame and of accessories that the shelf does not hold."""
    missing = [row for row in parts if row["kind"] == "hub" and row["to_buy_count"]]
    if not missing:
        return []
    buy = " and ".join(f"{row['to_buy_count']} {row['item']}" for row in missing)
    needed = sum(row["needed_count"] for row in parts if row["kind"] == "hub")
    short = sum(row["to_buy_count"] for row in missing)
    message = (
        f"{needed} hubs needed, {short} short after every hub stands where it can "
        f"({kinds['one_piece_needed_count']} nodes take only a one-piece hub). Buy {buy}."
    )
    at = tuple(pointer for row in missing for pointer in _at(stock, row["item"]))
    return [
        Finding(
            "hubs-short",
            "stop",
            message,
            at,
            Measure(needed, needed - short),
            Remedy(f"Buy {buy}."),
        )
    ]


def hub_fit(kinds: Row, missed: int, doubled: int) -> list[Finding]:
    """What can stand at the nodes; nodes where nothing can."""
    found = []
    if missed:
        message = (
            f"{missed} nodes take a rod at an angle that no port can have: not along an axis, nor "
            f"at 45 degrees. Use square bays, or a rod that closes on them."
        )
        found.append(Finding("no-hub-fits", "stop", message, ("/frame",), Measure(missed, 0)))
    if doubled:
        message = f"{doubled} nodes take two rods in one port. Move one of them."
        found.append(Finding("port-used-twice", "stop", message, ("/frame",), Measure(doubled, 0)))
    rest = kinds["no_kind_count"] - missed - doubled
    if rest > 0:
        message = (
            f"{rest} nodes use ports that no hub of the kit has together. Add a hub kind with "
            f"more ports, or take a diagonal out there."
        )
        found.append(Finding("no-hub-fits", "stop", message, ("/kit/hubs",), Measure(rest, 0)))
    two, one = kinds["two_part_possible_count"], kinds["one_piece_needed_count"]
    if two:
        message = (
            f"{two} nodes can take a two-part hub, {one} need one piece: "
            f"{kinds['three_planes_count']} hold diagonals in three planes, "
            f"{kinds['unlocked_count']} have no diagonal to lock two halves. Turn the open ends "
            f"of neighbours to face opposite ways."
        )
        where = ("/hub_kinds/one_piece_needed_count", "/hub_kinds/two_part_possible_count")
        found.append(Finding("hub-kinds", "ok", message, where, Measure(two, two + one)))
    return found


def shelf(parts: Sequence[Row], stock: Mapping[str, Any] | None, known: set[str]) -> list[Finding]:
    """Whether there is a shelf, whether its items are known, whether spares are left."""
    if stock is None:
        message = "No stock given: nothing is held against the shelf. State what is there."
        return [Finding("stock-not-given", "ok", message)]
    found = []
    for place, row in enumerate(stock["counts"]):
        if row["item"] not in known:
            message = (
                f"The stock lists {row['on_hand_count']} {row['item']}, which nothing here uses: "
                f"not counted. Check the name.{nearest(row['item'], known)}"
            )
            at = (f"/stock/counts/{place}/item",)
            found.append(Finding("unknown-stock-item", "watch", message, at))
    for row in parts:
        if row["reserve_count"] > row["left_count"] and not row["to_buy_count"]:
            lacking = row["reserve_count"] - row["left_count"]
            message = (
                f"{row['item']}: {row['left_count']} left as spares of {row['reserve_count']} "
                f"asked for. Buy {lacking}."
            )
            measure = Measure(row["left_count"], row["reserve_count"])
            remedy = Remedy(f"Buy {lacking} {row['item']}.")
            where = _at(stock, row["item"])
            found.append(Finding("reserve-not-covered", "watch", message, where, measure, remedy))
    used = [row for row in parts if row["total_count"]]
    if used and not any(row["to_buy_count"] for row in used):
        least = min(used, key=lambda row: row["left_count"] / row["total_count"])
        pieces = sum(row["total_count"] for row in used)
        message = (
            f"All {pieces} pieces are on the shelf; scarcest is {least['item']}: "
            f"{least['total_count']} used, {least['left_count']} left. Pack."
        )
        measure = Measure(least["total_count"], least["free_count"])
        found.append(Finding("all-on-the-shelf", "ok", message, _at(stock, least["item"]), measure))
    return found


def shared_parts(structure: Row) -> list[Finding]:
    """How far a count beam by beam would be off."""
    by_beam = structure.get("counted_by_beam")
    if by_beam is None or not by_beam["hubs_count"]:
        return []
    once = structure["counted_once"]
    message = (
        f"Beams share corners: counted beam by beam there would be {by_beam['hubs_count']} hubs "
        f"and {by_beam['axis_rods_count']} axis rods; the frame takes "
        f"{once['hubs_count']} and {once['axis_rods_count']}. Order by these."
    )
    measure = Measure(once["hubs_count"], by_beam["hubs_count"])
    return [Finding("shared-parts", "ok", message, ("/structure",), measure)]


def thumb_work(snaps: int, hours: float, push_n: float | None) -> list[Finding]:
    """Breaks and tools for many rod ends.

    Source: 5 to 10 minutes of pause in each hour of repetitive work, as advised by health and
    safety authorities, from memory; the limits on number and push are common practice, no source.
    """
    hard = push_n is not None and push_n > HARD_PUSH_N
    if snaps <= MANY_SNAPS and not hard:
        return []
    message = f"{snaps} rod ends to seat by thumb, two for each rod"
    if hours:
        pause = PAUSE_MIN_PER_HOUR * hours
        message += f", in {hours:.1f} h of building: add {pause:.0f} min of breaks, 5 in each hour"
    else:
        message += ": take 5 minutes of break in each hour"
    message += ", and share the work."
    measure = Measure(snaps, MANY_SNAPS)
    if hard:
        message += f" Each takes {push_n:g} N, above {HARD_PUSH_N:g} N: use a pushing tool."
        measure = Measure(float(push_n or 0), HARD_PUSH_N, "N")
    return [Finding("thumb-work", "watch", message, ("/totals/snaps_count",), measure)]


def _at(stock: Mapping[str, Any], item: str) -> tuple[str, ...]:
    for place, row in enumerate(stock["counts"]):
        if row["item"] == item:
            return (f"/stock/counts/{place}/on_hand_count",)
    return ("/stock/counts",)
