"""What the builder should know about the programme."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from .cutting import MOST_PATTERNS
from .reading import Answer
from .strength import KEPT_RATIO

Row = Mapping[str, Any]


def programme_findings(answer: Answer, value: Row) -> list[Finding]:
    """Findings on the member `programme` of the result."""
    return [
        *_missing(value),
        *_to_buy(value),
        *_mended(answer, value),
        *_salvage(value),
        *_spares(value),
        *_strength(answer, value),
        *_unknown(answer, value),
        *_proof(answer, value),
    ]


def _listed(pairs: Sequence[str], most: int = 8) -> str:
    shown = list(pairs[:most])
    if len(pairs) > most:
        shown.append(f"{len(pairs) - most} more")
    return " and ".join(filter(None, [", ".join(shown[:-1]), shown[-1]])) if shown else ""


def _missing(value: Row) -> list[Finding]:
    short = [row for row in value["supplies"] if row["still_short_count"]]
    if not short:
        return []
    parts = _listed([f"{row['still_short_count']} {row['item']}" for row in short])
    missing = value["missing_count"]
    needed = sum(row["built_in_count"] for row in value["supplies"])
    message = (
        f"Even with every change that is allowed {parts} are missing. Allow buying, or build less."
    )
    return [
        Finding(
            "still-short", "stop", message, ("/programme/supplies",),
            Measure(needed, needed - missing), Remedy(f"Buy {parts}."),
        )
    ]  # fmt: skip


def _to_buy(value: Row) -> list[Finding]:
    rows = value["purchases"]
    if not rows:
        lacking = value["missing_count"] + sum(r["reserve_short_count"] for r in value["supplies"])
        return [] if lacking else _all_there(value)
    lines = _listed([_line(row) for row in rows])
    total = value["purchase_total"]
    price = f", {total:g} in all" if total else ""
    message = f"To buy: {lines}{price}. {rows[0]['item']}: {rows[0]['why']}."
    pieces = sum(row["count"] for row in rows)
    return [
        Finding(
            "parts-to-buy", "watch", message, ("/programme/purchases",), Measure(pieces, 0),
            Remedy(f"Order {lines}."),
        )
    ]  # fmt: skip


def _all_there(value: Row) -> list[Finding]:
    pieces = sum(row["built_in_count"] + row["reserve_count"] for row in value["supplies"])
    if not pieces:
        return []
    done = [
        words
        for key, words in (
            ("changes", "the changes"), ("cuts", "the sawing"), ("salvage", "the old machines")
        )
        if value[key]
    ]  # fmt: skip
    given = f"With {_listed(done)} all" if done else "All"
    message = f"{given} {pieces} pieces, spares included, are there: nothing has to be bought."
    at = ("/programme/supplies",)
    return [Finding("all-there", "ok", message, at, Measure(pieces, pieces))]


def _line(row: Row) -> str:
    if row["pieces_per_pack_count"] == 1:
        return f"{row['count']} {row['item']}"
    packs = "pack" if row["packs_count"] == 1 else "packs"
    return f"{row['packs_count']} {packs} of {row['pieces_per_pack_count']} {row['item']}"


def _mended(answer: Answer, value: Row) -> list[Finding]:
    found = []
    groups: dict[tuple[str, ...], int] = {}
    for row in value["changes"]:
        what: tuple[str, ...] = (
            ("left-out", row["rod"])
            if row["what"] == "left-out"
            else ("pair", row["rod"], row["first"], row["second"], row["mid_hub"])
        )
        groups[what] = groups.get(what, 0) + len(row["copies"])
    for what, count in groups.items():
        message = _words(what, count)
        mine = [row for row in value["changes"] if _is(row, what)]
        places = sorted({row["section"] for row in mine})
        message += f" in {_listed(places)}"
        measure = Measure(count)
        solved = [row for row in mine if "compression_n" in row and "compression_allowed_n" in row]
        if solved:
            worst = max(solved, key=lambda row: float(row["compression_n"]))
            most, limit = float(worst["compression_n"]), float(worst["compression_allowed_n"])
            message += (
                f"; solved again, the most pressed of them takes {most:.1f} N of the "
                f"{limit:.1f} N it may"
            )
            measure = Measure(round(most, 6), round(limit, 6), "N")
        remedy = Remedy("Mark these places before you build: see the view substitutes.")
        code = "diagonals-left-out" if what[0] == "left-out" else "stock-mended"
        level = "ok" if solved or what[0] == "left-out" else "watch"
        at = ("/programme/changes",)
        found.append(Finding(code, level, f"{message}.", at, measure, remedy))
    if value["cuts"]:
        lengths = _listed(
            [
                f"{row['count']} {row['source']} into "
                + _listed([f"{count} {item}" for item, count in row["pieces"].items()])
                for row in value["cuts"]
            ]
        )
        message = f"Saw {lengths}. Finish the ends like the others, and try one in a hub first."
        found.append(Finding("rods-to-saw", "watch", message, ("/programme/cuts",)))
    return found


def _is(row: Row, what: tuple[str, ...]) -> bool:
    if what[0] != row["what"] or row["rod"] != what[1]:
        return False
    return what[0] == "left-out" or (row["first"], row["second"]) == what[2:4]


def _words(what: tuple[str, ...], count: int) -> str:
    if what[0] == "left-out":
        return f"{count} diagonals {what[1]} can be left out"
    _, rod, first, second, mid = what
    rods = f"{2 * count} {first}" if first == second else f"{count} {first} and {count} {second}"
    return f"{count} {rod} are replaced by {rods} with {count} {mid}, two in line each,"


def _salvage(value: Row) -> list[Finding]:
    rows = value["salvage"]
    if not rows:
        return []
    first = rows[0]
    covers = _listed([f"{count} {item}" for item, count in first["covers"].items()])
    minutes = value["dismantle_min"]
    message = (
        f"Take {first['group']} of {first['old_machine']} apart first: it gives {covers} that are "
        f"missing. {len(rows)} of its groups in all, {minutes:.0f} min. Check each part before "
        f"you use it again."
    )
    return [Finding("salvage-first", "ok", message, ("/programme/salvage",), Measure(minutes))]


def _spares(value: Row) -> list[Finding]:
    rows = [row for row in value["supplies"] if row["reserve_short_count"]]
    if not rows:
        return []
    parts = _listed([f"{row['reserve_short_count']} {row['item']}" for row in rows])
    asked = sum(row["reserve_count"] for row in rows)
    lacking = sum(row["reserve_short_count"] for row in rows)
    message = f"Spares are short: {parts} of those asked for are not there. Buy them or take fewer."
    measure = Measure(asked - lacking, asked)
    remedy = Remedy(f"Buy {parts}.")
    at = ("/programme/reserve",)
    return [Finding("spares-short", "watch", message, at, measure, remedy)]


def _strength(answer: Answer, value: Row) -> list[Finding]:
    found = []
    weak = [
        row
        for row in value["strength"]
        if any(case.get("as_stated_factor", 1e9) < case["required_factor"] for case in row["cases"])
    ]
    if weak:
        names = _listed([row["section"] for row in weak])
        lowest = min(weak, key=lambda row: float(row["as_stated_factor"]))
        message = (
            f"{names} fell short before anything was changed: {lowest['section']} first slips at "
            f"{lowest['as_stated_factor']:.2f} in “{lowest['worst_case']}”. The changes keep "
            f"{KEPT_RATIO:.0%} of that at least. Run truss-check and mend the frame first."
        )
        found.append(Finding("weak-as-stated", "watch", message, ("/programme/strength",)))
    held = [row for row in value["strength"] if row not in weak and "changed_factor" in row]
    if held:
        lowest = min(held, key=lambda row: float(row["changed_factor"]))
        before, after = float(lowest["as_stated_factor"]), float(lowest["changed_factor"])
        case = next(
            case
            for case in lowest["cases"]
            if case.get("changed_factor") == lowest["changed_factor"]
        )
        message = (
            f"Every load case was solved again with the changes: {lowest['section']} first slips "
            f"at {after:.2f} in “{lowest['worst_case']}” ({before:.2f} as stated, "
            f"{case['required_factor']:g} needed)."
        )
        measure = Measure(round(after, 6), case["required_factor"])
        found.append(
            Finding("holds-with-changes", "ok", message, ("/programme/strength",), measure)
        )
    return [*found, *_refused(answer, value)]


def _refused(answer: Answer, value: Row) -> list[Finding]:
    chosen = answer.chosen
    refused, messages = value["refused_positions_count"], []
    if refused:
        messages.append(
            f"Checks of strength and of locked two-part hubs turned down {refused} positions; they "
            f"keep their rods."
        )
    for site, most in chosen.failed.items():
        name, made = chosen.sites[site].id, chosen.changed(site)
        if site in chosen.given_up:
            messages.append(f"No set of changes held in {name}: it keeps all of its rods.")
        else:
            messages.append(f"{name} holds with {made} changes, not with {most}.")
    if not messages:
        return []
    text = " ".join(messages[:6])
    return [Finding("changes-refused", "watch", text, ("/programme/changes",))]


def _unknown(answer: Answer, value: Row) -> list[Finding]:
    if not answer.unsolved or not any(answer.task.ways):
        return []
    short = any(
        row["still_short_count"] or row["bought_count"]
        for row in value["supplies"]
        if row["kind"] == "rod"
    )
    if not short:
        return []
    reasons = _listed(list(answer.unsolved), 4)
    message = (
        f"Loads are not known everywhere, so no two rods in line stand there: {reasons}. State "
        f"member_compression_n or light_positions."
    )
    return [Finding("loads-unknown", "watch", message, ("/programme/light_positions",))]


def _proof(answer: Answer, value: Row) -> list[Finding]:
    if value["proven_best"]:
        return []
    reasons = []
    if value["gap_ratio"]:
        open_aim = next(aim for aim in value["aims"] if not aim["proven"])
        what = open_aim["aim"].replace("-", " ")
        reasons.append(
            f"the {what} come to {open_aim['value']:g}, and less than {open_aim['at_least']:g} is "
            f"impossible"
        )
    if not answer.task.supply.sawing_complete:
        reasons.append(f"only the first {MOST_PATTERNS} ways to saw a length were tried")
    message = (
        f"This set is good, but not proven the best: {' and '.join(reasons)}. Ask for fewer ways "
        f"at once to have it proven."
    )
    measure = Measure(value["gap_ratio"], 0.0)
    return [Finding("not-proven-best", "watch", message, ("/programme/gap_ratio",), measure)]
