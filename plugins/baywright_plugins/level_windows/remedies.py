"""Changes of one requirement that cure a conflict, each proven by calculating again."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from baywright_service.contract import LEVELS, Finding, Inputs, Remedy, Result

from .easing import Easing, easings
from .kinds import millimetres, title_of

Rerun = Callable[[Mapping[str, Any]], Result | None]
Value = dict[str, Any]
#: How often changes are tried out, for one conflict and in all; fewer times for large ladders.
_TRIES, _TRIES_IN_ALL, _TRIES_LARGE, _LARGE = 6, 24, 4, 60
#: A step that saves a module is looked for only here.
_SAVING_TRIES, _SAVING_LARGEST = 2, 30


@dataclass(frozen=True)
class Offer:
    """A change: where, what, and the merge patch of the inputs that makes it."""

    at: str
    field: str
    before: float
    after: float
    message: str
    patch: Mapping[str, Any]
    share: float


@dataclass(frozen=True)
class _Before:
    """The answer without any change."""

    value: Value
    findings: Sequence[Finding]

    def better_than(self, after: Result, level: str) -> bool:
        """Whether a change makes something new come up that is worse than `level`."""
        known = {(finding.code, finding.at) for finding in self.findings}
        new = [f for f in after.findings if (f.code, f.at) not in known]
        lost = set(after.value.get("wishes_denied", ()))
        lost -= set(self.value.get("wishes_denied", lost))
        return bool(lost) or any(LEVELS.index(f.level) > LEVELS.index(level) for f in new)


def with_cures(
    value: Value, findings: Sequence[Finding], inputs: Inputs, rerun: Rerun
) -> list[Finding]:
    """The same findings; each conflict's carries its remedy. Conflicts and findings correspond."""
    conflicts = iter(value["conflicts"])
    budget = _TRIES_IN_ALL if len(inputs["levels"]) <= _LARGE else _TRIES_LARGE
    found = []
    for finding in findings:
        if finding.code in ("heights-conflict", "wish-denied"):
            conflict = next(conflicts)
            remedy = _cure(conflict, inputs, _Before(value, findings), rerun, min(_TRIES, budget))
            budget -= len(conflict["remedies"])
            finding = replace(finding, remedy=remedy)
        elif finding.code == "snapping-costs-height":
            finding = replace(finding, remedy=_saved_step(inputs, _Before(value, findings), rerun))
        found.append(finding)
    return found


def _cure(conflict: Value, inputs: Inputs, before: _Before, rerun: Rerun, tries: int) -> Remedy:
    """Try changes of single members, those that give the least share of themselves first.

    What was tried goes into the conflict's `remedies`; the first proven one is returned.
    """
    best = None
    for offer in _offers(conflict, inputs, inputs.raw)[:tries]:
        after = rerun(offer.patch)
        proven = after is not None and _cured(conflict, before, after)
        conflict["remedies"].append(
            {
                "at": offer.at,
                "message": offer.message,
                "field": offer.field,
                "before": offer.before,
                "after": offer.after,
                "proven": proven,
            }
        )
        if proven and best is None:
            best = Remedy(offer.message, offer.patch)
    return best or _by_hand(conflict)


def _saved_step(inputs: Inputs, before: _Before, rerun: Rerun) -> Remedy | None:
    """The smallest change that saves a whole module of the top, proven; None where none is."""
    if len(inputs["levels"]) > _SAVING_LARGEST:
        return None
    module, value = inputs["grid"]["module_mm"], before.value
    offers: list[Offer] = []
    for step in value["lowest_top"]["steps"]:
        if step["lost_mm"]:
            given = {**step, "give_mm": round(module - step["lost_mm"], 6)}
            offers += _of_member(given, inputs, inputs.raw)
    for offer in sorted(offers, key=lambda offer: offer.share)[:_SAVING_TRIES]:
        after = rerun(offer.patch)
        if after is None or not after.value["holds"] or before.better_than(after, "ok"):
            continue
        saved = value["top_mm"] - after.value.get("top_mm", value["top_mm"])
        if saved > 0:
            return Remedy(
                f"{offer.message} The top then lies {millimetres(saved)} lower.", offer.patch
            )
    return None


def _cured(conflict: Value, before: _Before, after: Result) -> bool:
    """The conflict is gone, and nothing as bad has come up."""
    if "wish" in conflict and conflict["wish"] not in after.value.get("wishes_kept", ()):
        return False
    allowed = "ok" if "wish" in conflict else "watch"
    return bool(after.value["holds"]) and not before.better_than(after, allowed)


def _by_hand(conflict: Value) -> Remedy:
    """In words only: which member must give how far, where no patch was proven."""
    if conflict["members_count"] == 1:
        return Remedy("Move it to one of these, or let one of its levels lie off the grid.")
    able = [m for m in conflict["members"] if m.get("cures_all")]
    if able:
        least = min(able, key=lambda m: m["give_mm"])
        words = f"Let “{least['title']}” give {millimetres(least['give_mm'])}, or another of them."
        return Remedy(words)
    return Remedy("Change one of them, then look at what conflicts next.")


def _offers(conflict: Value, inputs: Mapping[str, Any], raw: Mapping[str, Any]) -> list[Offer]:
    found: list[Offer] = []
    seen: set[tuple[str, str]] = set()
    for member in conflict["members"]:
        if member.get("cures_all") and (member["at"], member["end"]) not in seen:
            seen.add((member["at"], member["end"]))
            found += _of_member(member, inputs, raw)
    return sorted(found, key=lambda offer: offer.share)


def _of_member(member: Value, inputs: Mapping[str, Any], raw: Mapping[str, Any]) -> list[Offer]:
    _, name, index, *rest = member["at"].split("/")
    k, give = int(index), member["give_mm"]
    if name == "requirements":
        requirement = inputs["requirements"][k]
        if requirement["fixed"]:
            return []
        lower = member["end"] == "least"
        module = inputs["grid"]["module_mm"] if "grid" in inputs else 0.0
        return [
            _offer(member, easing, raw, k) for easing in easings(requirement, give, lower, module)
        ]
    key = rest[0] if rest else "at_mm"
    if key == "pinned_mm":
        return []
    given = raw[name][k]
    before = float(given[key])
    after = round(before - give if member["end"] == "least" else before + give, 6)
    if name == "pins":
        title = next(title_of(x) for x in inputs["levels"] if x["id"] == given["level"])
    else:
        title = title_of(inputs["levels"][k])
    verb = {"at_mm": "Pin “{}” at", "at_least_mm": "Allow “{}” down to"}.get(
        key, "Allow “{}” up to"
    )
    words = f"{verb.format(title)} {millimetres(after)} instead of {millimetres(before)}."
    if abs(after) > 100_000:
        return []
    patch = _replaced(raw, name, k, {**given, key: after})
    share = give / max(abs(before), 1.0)
    return [Offer(member["at"], key, before, after, words, patch, share)]


def _offer(member: Value, easing: Easing, raw: Mapping[str, Any], k: int) -> Offer:
    changed = easing.applied(raw["requirements"][k])
    patch = _replaced(raw, "requirements", k, changed)
    share = abs(easing.after - easing.before) / max(abs(easing.before), 1e-9)
    return Offer(
        member["at"], easing.field, easing.before, easing.after, easing.message, patch, share
    )


def _replaced(
    raw: Mapping[str, Any], name: str, k: int, changed: Mapping[str, Any]
) -> Mapping[str, Any]:
    items = list(raw[name])
    items[k] = changed
    return {name: items}
