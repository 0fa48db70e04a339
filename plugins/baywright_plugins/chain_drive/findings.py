"""What a builder should know of chain, hooks and speed."""

from collections.abc import Callable, Mapping
from typing import Any

from baywright_service.contract import Finding, Inputs, Measure, Remedy, Result

from ..lift_redundancy.chain import links_for_spacing

Value = Mapping[str, Any]
Rerun = Callable[[Inputs, Mapping[str, Any]], Result | None]
LEAST_WRAP_DEG = 120.0
ROUGH_PERCENT = 3.5


def chain_findings(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    """Links, adjuster, sprockets, hooks, frequencies."""
    found = [*_links(inputs, value, rerun), *_adjuster(inputs, value["loop"])]
    found += _sprockets(value["loop"])
    if "motion" in value:
        found += _hooks(inputs, value, rerun)
        found += _frequencies(inputs, value, rerun)
    return found


def clears(result: Result | None, *codes: str) -> bool:
    """Whether a run went through and none of these findings is left."""
    if result is None:
        return False
    return not {f.code for f in result.findings if f.level != "ok"} & set(codes)


def _links(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    loop = value["loop"]
    links, at = loop["links_count"], ("/chain/links_count",)
    if loop["offset_link"]:
        patch = {"chain": {"links_count": links + 1}}
        proven = not inputs.proving and clears(rerun(inputs, patch), "odd-links")
        words = f"{links} links are odd: the chain needs an offset link, its weakest."
        remedy = Remedy(f"Use {links + 1} links.", patch if proven else None)
        measure = Measure(float(links), float(links + 1))
        return [Finding("odd-links", "watch", words, at, measure, remedy)]
    moved = loop["moved_mm"]
    side = "more" if moved >= 0 else "less"
    words = (
        f"{links} links close the loop; head to tail becomes {loop['centre_distance_mm']:.2f} mm, "
        f"{abs(moved):.2f} mm {side} than wanted."
    )
    return [Finding("links-even", "ok", words, ("/chain",), Measure(float(links)))]


def _adjuster(inputs: Inputs, loop: Value) -> list[Finding]:
    if "adjustment" not in loop:
        return []
    left, links, at = loop["adjustment"], loop["links_count"], ("/adjuster",)
    if left["tighten_left_mm"] < 0:
        short = -left["tighten_left_mm"]
        words = f"{links} links stay slack: the adjuster ends {short:.2f} mm before they are taut."
        remedy = Remedy(f"Give the adjuster {short:.1f} mm more travel apart{_instead(left)}.")
        measure = Measure(loop["centre_distance_mm"], left["longest_mm"], "mm")
        return [Finding("chain-cannot-be-tightened", "stop", words, at, measure, remedy)]
    if left["slacken_left_mm"] < 0:
        short = -left["slacken_left_mm"]
        words = (
            f"{links} links do not go on: the shafts would have to come {short:.2f} mm closer "
            "than the adjuster lets them."
        )
        remedy = Remedy(f"Give the adjuster {short:.1f} mm more travel together{_instead(left)}.")
        measure = Measure(loop["centre_distance_mm"], left["shortest_mm"], "mm")
        return [Finding("chain-cannot-be-fitted", "stop", words, at, measure, remedy)]
    reserve, reached = inputs["chain"]["wear_reserve_percent"], left["wear_reached_percent"]
    if reached < reserve - 1e-9:
        words = (
            f"The adjuster ends at {reached:.2f} percent of wear; {reserve:g} percent are asked "
            f"for, which takes {left['wear_needs_mm']:.1f} mm of {left['tighten_left_mm']:.1f} mm."
        )
        more = left["wear_needs_mm"] - left["tighten_left_mm"]
        out = left.get("two_links_out_from_percent")
        later = ""
        if out is not None and out <= reached:
            later = ", or take out two links in time and set the hooks anew"
        remedy = Remedy(f"Give the adjuster {more:.1f} mm more travel apart{later}.")
        level_at = Measure(reached, reserve, "%")
        return [Finding("adjuster-short-for-wear", "watch", words, at, level_at, remedy)]
    words = (
        f"The adjuster has {left['tighten_left_mm']:.1f} mm left to tighten; "
        f"{reserve:g} percent of wear take {left['wear_needs_mm']:.1f} mm."
    )
    return [Finding("adjuster-takes-the-wear", "ok", words, at, Measure(reached, reserve, "%"))]


def _instead(left: Value) -> str:
    possible = left["links_possible_count"]
    return f", or use {int(possible[0])} links" if len(possible) else ""


def _sprockets(loop: Value) -> list[Finding]:
    found = []
    tips = (loop["head_outside_diameter_mm"] + loop["tail_outside_diameter_mm"]) / 2.0
    if loop["centre_distance_mm"] <= tips:
        words = (
            f"The sprockets touch: {loop['centre_distance_mm']:.1f} mm between the shafts, and "
            f"their teeth reach {tips:.1f} mm."
        )
        measure = Measure(loop["centre_distance_mm"], tips, "mm")
        remedy = Remedy("Move the shafts apart or take smaller sprockets.")
        found.append(Finding("sprockets-touch", "stop", words, ("/chain",), measure, remedy))
    if loop["wrap_deg"] < LEAST_WRAP_DEG:
        words = (
            f"The chain lies on {loop['wrap_deg']:.0f} degrees of the smaller sprocket; "
            f"{LEAST_WRAP_DEG:.0f} are asked for."
        )
        measure = Measure(loop["wrap_deg"], LEAST_WRAP_DEG, "deg")
        remedy = Remedy("Move the shafts apart, or take sprockets of more equal size.")
        found.append(Finding("wrap-too-small", "watch", words, ("/chain",), measure, remedy))
    if loop["speed_fluctuation_percent"] > ROUGH_PERCENT:
        words = (
            f"The chain's speed falls by {loop['speed_fluctuation_percent']:.1f} percent as each "
            f"tooth of the smaller sprocket passes; {ROUGH_PERCENT:g} percent (12 teeth) are usual."
        )
        measure = Measure(loop["speed_fluctuation_percent"], ROUGH_PERCENT, "%")
        remedy = Remedy("Take a sprocket of at least 12 teeth.")
        found.append(Finding("runs-rough", "watch", words, ("/chain",), measure, remedy))
    return found


def _hooks(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    spacing, links = inputs["hooks"]["spacing_links_count"], value["loop"]["links_count"]
    at = ("/hooks/spacing_links_count",)
    if not value["motion"]["spacing_divides"]:
        gap = links % spacing
        words = f"Hooks every {spacing} links do not divide {links} links: {gap} links are left."
        return [
            Finding(
                "hooks-uneven",
                "watch",
                words,
                at,
                Measure(float(gap), 0.0),
                _even_spacing(inputs, value, rerun),
            )
        ]
    if spacing % 2:
        words = f"Hooks every {spacing} links sit on inner and outer links in turn."
        remedy = Remedy("Choose an even spacing, or make two kinds of hook plates.")
        measure = Measure(float(spacing))
        return [Finding("hooks-on-both-link-kinds", "watch", words, at, measure, remedy)]
    count = value["motion"]["hooks_count"]
    words = f"Hooks every {spacing} links divide {links} links: {count} hooks."
    return [Finding("hooks-even", "ok", words, at, Measure(float(count)))]


def _even_spacing(inputs: Inputs, value: Value, rerun: Rerun) -> Remedy:
    spacing, links = inputs["hooks"]["spacing_links_count"], value["loop"]["links_count"]
    rows = [row["spacing_links_count"] for row in value["spacings"]]
    near = sorted(rows, key=lambda s: (abs(s - spacing), s % 2, s))[:4]
    options: list[tuple[str, dict[str, Any]]] = [
        (f"Set hooks every {s} links", {"hooks": {"spacing_links_count": s}}) for s in near
    ]
    more = links_for_spacing(links, spacing)
    options.append((f"Use {more} links", {"chain": {"links_count": more}}))
    unwanted = ("hooks-uneven", "chain-cannot-be-tightened", "chain-cannot-be-fitted")
    for words, patch in options if not inputs.proving else ():
        if clears(rerun(inputs, patch), *unwanted):
            return Remedy(f"{words}: then the spacing is even all round.", patch)
    return Remedy(f"{options[0][0]}.")


_WORDS = {
    "tooth-passing": "Tooth passing at {:.2f} Hz is",
    "shaft": "The head shaft at {:.2f} Hz is",
    "hooks": "The hooks at {:.2f} Hz are",
}


def _frequencies(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    found = []
    for row in value["motion"].get("excitations", ()):
        keep = 100.0 * inputs["frame"]["keep_apart_ratio"]
        near = row["apart_percent"] < keep - 1e-9
        tooth = row["id"] == "tooth-passing"
        if not near and not tooth:
            continue
        words = (
            f"{_WORDS[row['id']].format(row['frequency_hz'])} {row['apart_percent']:.0f} percent "
            f"from the frame's {row['nearest_frame_hz']:.2f} Hz; {keep:.0f} percent are asked for."
        )
        measure = Measure(row["apart_percent"], keep, "%")
        at = ("/hooks", "/frame/own_frequencies_hz")
        if not near:
            found.append(Finding("tooth-clear-of-frame", "ok", words, at, measure))
            continue
        code = "tooth-near-frame-frequency" if tooth else "drive-near-frame-frequency"
        remedy = _clear_spacing(inputs, value, rerun, code)
        found.append(Finding(code, "watch", words, at, measure, remedy))
    return found


def _clear_spacing(inputs: Inputs, value: Value, rerun: Rerun, code: str) -> Remedy:
    spacing = inputs["hooks"]["spacing_links_count"]
    rows = [r for r in value["spacings"] if r.get("clear_of_frame") and r["same_kind_of_link"]]
    rows.sort(
        key=lambda r: (r["spacing_links_count"] < spacing, abs(r["spacing_links_count"] - spacing))
    )
    worse = ("hooks-uneven", "ball-comes-too-late", "no-motor-fits", code)
    for row in rows[:6] if not inputs.proving else ():
        s = row["spacing_links_count"]
        patch = {"hooks": {"spacing_links_count": s}}
        if clears(rerun(inputs, patch), *worse):
            words = (
                f"Set hooks every {s} links at the same hooks a minute: tooth passing becomes "
                f"{row['tooth_passing_same_hooks_hz']:.2f} Hz."
            )
            return Remedy(words, patch)
    return Remedy("Change the hook spacing or the hooks a minute; more teeth change nothing.")
