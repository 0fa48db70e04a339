"""The variants of a request: how many there are, and each in turn, in one form.

Order: the vary lists in product order (the last runs fastest) or zipped, then the variants
written out. How many there are is known before one is made.
"""

import hashlib
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..contract import Fault
from ..json_writer import canonical_bytes
from ..problems import errors_from, invalid_input
from .differences import Changes
from .model import Variant
from .schemas import ZIP


@dataclass(frozen=True)
class Vary:
    """One place, the values it takes, and what each of them changes of the base."""

    pointer: str
    values: Sequence[Any]
    changes: Sequence[Changes]


@dataclass(frozen=True)
class Expansion:
    """All variants of a base: `written` are the changes of those written out."""

    base: Mapping[str, Any]
    vary: Sequence[Vary] = ()
    zipped: bool = False
    written: Sequence[Changes] = ()

    @property
    def total(self) -> int:
        """How many variants there are."""
        return count([len(each.values) for each in self.vary], len(self.written), self.zipped)

    @property
    def pointers(self) -> tuple[str, ...]:
        """The places whose values tell variants apart: those of the vary lists, then those to
        which variants written out give single values."""
        single: dict[str, bool] = {}
        for pointer, value in (entry for each in self.written for entry in each.items()):
            plain = not isinstance(value, (Mapping, list))
            single[pointer] = single.get(pointer, True) and plain
        written = sorted(pointer for pointer, plain in single.items() if plain)
        return tuple(dict.fromkeys([*(each.pointer for each in self.vary), *written]))

    def variants(self) -> Iterator[Variant]:
        """Every variant, one after the other."""
        lists = [each.changes for each in self.vary]
        if self.vary:
            chosen = zip(*lists, strict=True) if self.zipped else itertools.product(*lists)
            for parts in chosen:
                yield _variant({key: value for part in parts for key, value in part.items()})
        yield from map(_variant, self.written)


def _variant(changes: Changes) -> Variant:
    """Equal variants have equal digests, however they were written."""
    return Variant({"set": changes}, hashlib.sha256(canonical_bytes(changes)).digest()[:16])


def count(lengths: Sequence[int], written: int, zipped: bool) -> int:
    """How many variants vary lists of these lengths and `written` further ones make.

    >>> count([3, 4], 2, False), count([3, 3], 2, True), count([], 2, False)
    (14, 5, 2)
    """
    if not lengths:
        return written
    return written + (min(lengths) if zipped else math.prod(lengths))


def check_count(asked: Mapping[str, Any], limit: int) -> None:
    """Refuse more variants than `limit`, or none, before any is made. Raises InvalidInput."""
    lists = asked.get("vary", ())
    lengths = [len(each["values"]) for each in lists]
    written = len(asked.get("variants", ()))
    total = count(lengths, written, asked["combine"] == ZIP)
    if total == 0:
        fault = Fault("missing", "Nothing varies: give vary, or variants, or both.")
        raise invalid_input(errors_from([("", fault)]))
    if total > limit:
        words = _how_many(lists, lengths, written, total, limit, asked["combine"] == ZIP)
        fault = Fault("too-many", words, maximum=limit, total=total)
        raise invalid_input(errors_from([("/vary" if lengths else "/variants", fault)]))


def _how_many(
    lists: Sequence[Mapping[str, Any]],
    lengths: Sequence[int],
    written: int,
    total: int,
    limit: int,
    zipped: bool,
) -> str:
    """How the variants become so many, and how to have fewer."""
    if not lengths:
        return f"These are {total:,} variants; {limit:,} are allowed. Send several batches."
    sign = " zipped with " if zipped else " × "
    product = sign.join(f"{length:,}" for length in lengths)
    also = f" and {written:,} written out" if written else ""
    longest = max(range(len(lists)), key=lambda k: lengths[k])
    name = lists[longest]["pointer"]
    others = 1 if zipped else math.prod(lengths) // lengths[longest]
    fits = max(limit - written, 0) // others
    if fits:
        advice = f"Shorten {name} ({lengths[longest]:,} values) to {fits:,} or fewer"
    else:
        several = [each["pointer"] for each, n in zip(lists, lengths, strict=True) if n > 1]
        advice = f"Shorten several of {', '.join(several[:5])}"
    zip_too = "" if zipped or len(lists) < 2 else ', combine with "zip"'
    return (
        f"{product} values{also} make {total:,} variants; {limit:,} are allowed. "
        f"{advice}{zip_too}, or send several batches."
    )
