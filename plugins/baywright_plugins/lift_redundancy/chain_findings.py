"""Links, hooks, frequencies and wrap of a chain."""

from typing import Any

from baywright_service.contract import Finding, Inputs, Measure, Remedy

from .chain import links_for_spacing
from .wording import Rerun, Value, clears

LEAST_WRAP_DEG = 120.0


def chain_findings(inputs: Inputs, chain: Value, rerun: Rerun) -> list[Finding]:
    """Do the links close evenly, do the hooks divide them, does the drive keep off the frame?"""
    return [
        *_links(inputs, chain, rerun),
        *_hooks(inputs, chain, rerun),
        *_frequencies(inputs, chain, rerun),
        *_wrap(chain),
    ]


def _links(inputs: Inputs, chain: Value, rerun: Rerun) -> list[Finding]:
    links = chain["links_count"]
    if chain["offset_link"]:
        patch = {"chain": {"links_count": links + 1}}
        proven = not inputs.proving and clears(rerun(inputs, patch), "odd-links")
        return [
            Finding(
                "odd-links",
                "watch",
                f"{links} links are odd: the chain needs an offset link, its weakest, and hooks "
                "cannot all sit on the same kind of link.",
                ("/chain/links_count",),
                Measure(float(links), float(links + 1), "1"),
                Remedy(f"Use {links + 1} links.", patch if proven else None),
            )
        ]
    moved = ""
    if "take_up_mm" in chain:
        side = "more" if chain["take_up_mm"] >= 0 else "less"
        moved = f", {abs(chain['take_up_mm']):.2f} mm {side} than asked for"
    return [
        Finding(
            "links-even",
            "ok",
            f"{links} links close the loop; head to tail becomes "
            f"{chain['centre_distance_mm']:.2f} mm{moved}.",
            ("/chain",),
            Measure(float(links), None, "1"),
        )
    ]


def _hooks(inputs: Inputs, chain: Value, rerun: Rerun) -> list[Finding]:
    spacing = inputs["chain"].get("hook_spacing_links_count")
    if spacing is None:
        return []
    links = chain["links_count"]
    if "hooks_count" not in chain:
        return [_hooks_uneven(inputs, chain, spacing, rerun)]
    if spacing % 2 == 1:
        return [
            Finding(
                "hooks-on-both-link-kinds",
                "watch",
                f"Hooks every {spacing} links sit on inner and outer links in turn: two kinds of "
                "hook plates are needed.",
                ("/chain/hook_spacing_links_count",),
                Measure(float(spacing), None, "1"),
                Remedy("Choose an even spacing if you have hook plates of one kind only."),
            )
        ]
    return [
        Finding(
            "hooks-even",
            "ok",
            f"Hooks every {spacing} links divide {links} links: {chain['hooks_count']} hooks.",
            ("/chain/hook_spacing_links_count",),
            Measure(float(chain["hooks_count"]), None, "1"),
        )
    ]


def _hooks_uneven(inputs: Inputs, chain: Value, spacing: int, rerun: Rerun) -> Finding:
    links = chain["links_count"]
    gap = links % spacing
    spacings = chain["even_spacings_links_count"].tolist()
    near = sorted(spacings, key=lambda s: (abs(s - spacing), s % 2, s))[:4]
    more = links_for_spacing(links, spacing)
    options: list[tuple[str, dict[str, Any]]] = [
        (f"Use {more} links", {"chain": {"links_count": more}})
    ]
    options += [
        (f"Set hooks every {s} links", {"chain": {"hook_spacing_links_count": s}}) for s in near
    ]
    if (more - links) > links // 10:
        options = [*options[1:], options[0]]
    remedy = Remedy(f"{options[0][0]}.")
    if not inputs.proving:
        for text, patch in options:
            if clears(rerun(inputs, patch), "hooks-uneven", "odd-links"):
                remedy = Remedy(f"{text}: then the spacing is even all round.", patch)
                break
    return Finding(
        "hooks-uneven",
        "watch",
        f"Hooks every {spacing} links do not divide {links} links: one gap is left with {gap} "
        f"links.",
        ("/chain/hook_spacing_links_count",),
        Measure(float(gap), 0.0, "1"),
        remedy,
    )


def _frequencies(inputs: Inputs, chain: Value, rerun: Rerun) -> list[Finding]:
    keep = inputs["chain"]["keep_apart_ratio"]
    words = {
        "tooth-passing": "Tooth passing at {:.2f} Hz is",
        "shaft": "The head shaft at {:.2f} Hz is",
        "hooks": "The hooks at {:.2f} Hz are",
    }
    found = []
    for row in chain.get("excitations", []):
        near = row["apart_ratio"] < keep - 1e-12
        tooth = row["id"] == "tooth-passing"
        text = (
            f"{words[row['id']].format(row['frequency_hz'])} {100 * row['apart_ratio']:.0f} "
            f"percent from the frame's {row['nearest_frame_hz']:.2f} Hz; {100 * keep:.0f} percent "
            "are asked for."
        )
        if near:
            code = "tooth-near-frame-frequency" if tooth else "drive-near-frame-frequency"
            remedy = _spacing_remedy(inputs, chain, rerun) if tooth else None
            level = "watch"
        elif tooth:
            code, remedy, level = "tooth-clear-of-frame", None, "ok"
        else:
            continue
        measure = Measure(row["apart_ratio"], keep, "1")
        found.append(Finding(code, level, text, ("/chain",), measure, remedy))
    return found


def _spacing_remedy(inputs: Inputs, chain: Value, rerun: Rerun) -> Remedy:
    """A spacing that divides the links and is clear; wider first: fewer hooks, shorter lift."""
    spacing = inputs["chain"].get("hook_spacing_links_count")
    general = Remedy("Change the hook spacing or the hooks a minute; more teeth change nothing.")
    clear = chain.get("clear_spacings_links_count")
    if spacing is None or inputs.proving or clear is None:
        return general
    even = [s for s in clear.tolist() if s % 2 == 0 and spacing / 4 <= s <= spacing * 4]
    order = sorted(even, key=lambda s: (s < spacing, abs(s - spacing)))
    unwanted = ("tooth-near-frame-frequency", "drive-near-frame-frequency", "hooks-uneven")
    for s in order[:6]:
        patch = {"chain": {"hook_spacing_links_count": s}}
        again = rerun(inputs, patch)
        if again is not None and clears(again, *unwanted):
            row = again.value["chain"]["excitations"][0]
            return Remedy(
                f"Set hooks every {s} links at the same hooks a minute: tooth passing at "
                f"{row['frequency_hz']:.2f} Hz is {100 * row['apart_ratio']:.0f} percent clear.",
                patch,
            )
    return general


def _wrap(chain: Value) -> list[Finding]:
    if chain["wrap_deg"] >= LEAST_WRAP_DEG:
        return []
    return [
        Finding(
            "wrap-too-small",
            "watch",
            f"The chain lies on {chain['wrap_deg']:.0f} degrees of the smaller sprocket; "
            f"{LEAST_WRAP_DEG:.0f} are asked for.",
            ("/chain",),
            Measure(chain["wrap_deg"], LEAST_WRAP_DEG, "deg"),
            Remedy("Move the shafts apart, or take sprockets of more equal size."),
        )
    ]
