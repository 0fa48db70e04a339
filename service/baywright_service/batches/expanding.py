"""From a request to its variants: every fault of it that can be found before anything runs.

Vary lists are checked together once (the first value of each), then each further value once in
place of every product it takes part in; variants written out are checked where they differ from
the base.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..contract import Calculator, Fault
from ..documents import Documents
from ..fields import sorted_faults
from ..json_patch import BadPatch, json_patch
from ..pointers import PointerToNowhere, escape, merge_patch, parts_of, resolve
from ..problems import Error, errors_from, invalid_input
from ..registry import Registry
from .checks import MOST_TOGETHER, Checker, touches_structure
from .differences import Changes, changed, difference, stands
from .keep_check import faults_of_kept
from .schemas import JSON_PATCH, ZIP, without_null
from .variants import Expansion, Vary, check_count

PlacedFault = tuple[str, Fault]
#: Once it is clear that nothing will be accepted, so many more places are looked at.
MOST_LOOKED_AT = 100


class Expander:
    """Makes variants of one base: a plan, or the inputs of `calculator`."""

    def __init__(
        self,
        base: Mapping[str, Any],
        calculator: Calculator | None,
        registry: Registry,
        store: Documents,
    ) -> None:
        self.base, self.calculator = base, calculator
        self._registry, self._store = registry, store
        self._root = "/plan" if calculator is None else "/inputs"

    def expanded(self, asked: Mapping[str, Any], limit: int) -> Expansion:
        """The variants of a request that its schema has read. Raises InvalidInput."""
        check_count(asked, limit)
        zipped = asked["combine"] == ZIP
        faults: list[PlacedFault] = []
        vary = self._vary(asked.get("vary", ()), zipped, faults)
        written = self._written(asked.get("variants", ()), faults)
        if not any(map(touches_structure, self._everywhere(vary, written))):
            keep = asked.get("keep", ())
            faults += faults_of_kept(keep, self.base, self.calculator, self._registry)
        errors = errors_from(faults)
        if not errors:
            errors = [*self._faults_of_vary(vary), *self._faults_of_written(asked, written)]
        if errors:
            raise invalid_input(in_order(errors))
        return Expansion(self.base, vary, zipped, written)

    # What the request says

    def _vary(
        self, lists: Sequence[Mapping[str, Any]], zipped: bool, faults: list[PlacedFault]
    ) -> list[Vary]:
        vary: list[Vary] = []
        for index, entry in enumerate(lists):
            pointer = self.place(entry["pointer"])
            reason = _why_no_place(self.base, pointer) or _why_no_place_beside(vary, pointer)
            if reason:
                faults.append((f"/vary/{index}/pointer", reason))
                continue
            in_list = isinstance(resolve(self.base, _above(pointer)), list)
            values = entry["values"]
            if in_list and None in values:
                place = f"/vary/{index}/values/{values.index(None)}"
                detail = "An entry of a list cannot be taken away by null; vary the whole list."
                faults.append((place, Fault("wrong-type", detail)))
            values = [without_null(value) for value in values]
            vary.append(Vary(pointer, values, [self._changes(pointer, v) for v in values]))
        lengths = [len(each.values) for each in vary]
        if zipped and not faults and len(set(lengths)) > 1:
            odd = next(k for k, length in enumerate(lengths) if length != lengths[0])
            detail = (
                f"Zipped lists are equally long: {lists[0]['pointer']} has {lengths[0]} values, "
                f"{lists[odd]['pointer']} has {lengths[odd]}."
            )
            faults.append((f"/vary/{odd}/values", Fault("out-of-range", detail)))
        return vary

    def place(self, pointer: str) -> str:
        """`pointer` with a step's place in the list of steps for its id."""
        parts = pointer.split("/")
        if self.calculator is None and len(parts) > 2 and parts[1] == "steps":
            steps = self.base.get("steps")
            ids = [s.get("id") if isinstance(s, Mapping) else None for s in steps or ()]
            if not parts[2].isdecimal() and parts[2] in ids:
                parts[2] = str(ids.index(parts[2]))
        return "/".join(parts)

    def _changes(self, pointer: str, value: Any) -> Changes:
        if not stands(self.base, pointer):
            return {} if value is None else {pointer: value}
        if value is None:
            return {pointer: None}
        return difference(resolve(self.base, pointer), value, pointer)

    def _written(
        self, variants: Sequence[Mapping[str, Any]], faults: list[PlacedFault]
    ) -> list[Changes]:
        written = []
        for index, patch in enumerate(variants):
            try:
                after = self._patched(patch)
            except BadPatch as error:
                faults.append((f"/variants/{index}{error.pointer}", error.fault))
                continue
            found = difference(self.base, after)
            written.append({key: without_null(value) for key, value in found.items()})
        return written

    def _patched(self, patch: Mapping[str, Any]) -> Any:
        if JSON_PATCH not in patch:
            return merge_patch(self.base, patch)
        others = [key for key in patch if key != JSON_PATCH]
        if others:
            fault = Fault("unknown-field", f"Nothing may stand beside {JSON_PATCH}.")
            raise BadPatch(escape(others[0]), fault)
        try:
            after = json_patch(self.base, patch[JSON_PATCH])
        except BadPatch as error:
            raise BadPatch(f"/{JSON_PATCH}{error.pointer}", error.fault) from None
        if not isinstance(after, Mapping):
            raise BadPatch("", Fault("wrong-type", "The patch leaves no object."))
        return after

    def _everywhere(
        self, vary: Sequence[Vary], written: Sequence[Changes]
    ) -> Iterator[tuple[str, Any]]:
        """Each place with each value it takes, where the plan itself may change by it."""
        if self.calculator is None:
            yield from ((each.pointer, list(each.values)) for each in vary)
            yield from (entry for changes in written for entry in changes.items())

    # What the rules say

    def _checker(self, body: Any) -> Checker:
        return Checker(body, self.calculator, self._registry, self._store)

    def _faults_of_vary(self, vary: Sequence[Vary]) -> Iterator[Error]:
        if not vary:
            return
        together = {k: v for each in vary for k, v in each.changes[0].items()}
        checker = self._checker(changed(self.base, together))
        known = {(fault["pointer"], fault["detail"]) for fault in checker.faults}
        for fault in checker.faults:
            yield self._of_first_values(fault, vary)
        nowhere = {f["pointer"] for f in checker.faults if f["code"] == "unknown-field"}
        for index, each in enumerate(vary):
            if each.pointer in nowhere:
                continue
            for k, fault in self._of_values(checker, each, MOST_LOOKED_AT if known else None):
                below = _below(fault["pointer"], each.pointer)
                if below is not None or (fault["pointer"], fault["detail"]) not in known:
                    yield {**fault, "pointer": f"/vary/{index}/values/{k}{below or ''}"}

    def _of_values(self, checker: Checker, vary: Vary, last: int | None) -> list[tuple[int, Error]]:
        """The faults of the values behind the first, of `last` values at most."""
        found = checker.of_values(vary.pointer, vary.values)
        if found is None:
            return list(self._one_by_one(checker, vary, last))
        if checker.ties(vary.pointer):
            found += self._one_by_one(checker, vary, MOST_TOGETHER)
        once = {(k, fault["pointer"], fault["detail"]): (k, fault) for k, fault in found}
        return list(once.values())

    def _one_by_one(
        self, checker: Checker, vary: Vary, last: int | None
    ) -> Iterator[tuple[int, Error]]:
        for k, value in enumerate(vary.values[1:last], 1):
            body = changed(checker.body, {vary.pointer: value})
            for fault in checker.changed(body, {vary.pointer: value}):
                yield k, fault

    def _of_first_values(self, fault: Error, vary: Sequence[Vary]) -> Error:
        for index, each in enumerate(vary):
            below = _below(fault["pointer"], each.pointer)
            if below == "" and fault["code"] == "unknown-field":
                return {**fault, "pointer": f"/vary/{index}/pointer"}
            if below is not None:
                return {**fault, "pointer": f"/vary/{index}/values/0{below}"}
        return {**fault, "pointer": self._root + fault["pointer"]}

    def _faults_of_written(
        self, asked: Mapping[str, Any], written: Sequence[Changes]
    ) -> list[Error]:
        found: dict[tuple[str, str], Error] = {}
        checker = self._checker(self.base)
        for index, changes in enumerate(written):
            if len(found) >= MOST_LOOKED_AT:
                break
            for fault in checker.changed(changed(self.base, changes), changes):
                placed = self._of_written(fault, index, changes, asked["variants"][index])
                found[placed["pointer"], placed["detail"]] = placed
        return list(found.values())

    def _of_written(
        self, fault: Error, index: int, changes: Changes, patch: Mapping[str, Any]
    ) -> Error:
        pointer = fault["pointer"]
        near = [k for k in changes if _below(pointer, k) is not None or _below(k, pointer)]
        if not near:
            return {**fault, "pointer": self._root + pointer}
        if JSON_PATCH in patch:
            return {**fault, "pointer": f"/variants/{index}{_of_operations(patch, pointer)}"}
        while not stands(patch, pointer):
            pointer = _above(pointer)
        return {**fault, "pointer": f"/variants/{index}{pointer}"}


def _of_operations(patch: Mapping[str, Any], pointer: str) -> str:
    """The place in a JSON patch that a pointer into the patched whole comes from."""
    for k, operation in reversed(list(enumerate(patch[JSON_PATCH]))):
        below = _below(pointer, operation["path"])
        if below is not None:
            return f"/{JSON_PATCH}/{k}/" + ("value" + below if "value" in operation else "path")
    return ""


def _below(pointer: str, above: str) -> str | None:
    """The rest of `pointer` below `above`; None where it does not lie there.

    >>> _below("/a/b", "/a"), _below("/a", "/a"), _below("/ab", "/a")
    ('/b', '', None)
    """
    return pointer[len(above) :] if f"{pointer}/".startswith(f"{above}/") else None


def _above(pointer: str) -> str:
    return pointer.rpartition("/")[0]


def _why_no_place(base: Any, pointer: str) -> Fault | None:
    """Why nothing can be set at `pointer`; None where it can."""
    if not pointer.startswith("/"):
        return Fault("wrong-format", "Must be a JSON Pointer to a place inside, such as /a/0/b.")
    above, last = _above(pointer), parts_of(pointer)[-1]
    try:
        container = resolve(base, above)
    except PointerToNowhere as error:
        detail = f"Nothing stands at {error.pointer}, so nothing in it can be varied."
        return Fault("unknown-reference", detail)
    if isinstance(container, Mapping) or (isinstance(container, list) and stands(base, pointer)):
        return None
    if isinstance(container, list):
        detail = f"The list at {above} has {len(container)} entries, and none at {last[:40]}."
        return Fault("unknown-reference", detail)
    return Fault("unknown-reference", f"A single value stands at {above}; nothing is inside it.")


def _why_no_place_beside(vary: Sequence[Vary], pointer: str) -> Fault | None:
    for each in vary:
        if _below(pointer, each.pointer) is not None or _below(each.pointer, pointer) is not None:
            detail = f"It lies within, around or at {each.pointer}, which varies already."
            return Fault("not-unique", detail)
    return None


def in_order(errors: Sequence[Error]) -> list[Error]:
    """Errors in the order of their places."""
    order = {error["pointer"]: None for error in errors}
    rank = {p: k for k, (p, _) in enumerate(sorted_faults([(p, Fault("", "")) for p in order]))}
    return sorted(errors, key=lambda error: rank[error["pointer"]])
