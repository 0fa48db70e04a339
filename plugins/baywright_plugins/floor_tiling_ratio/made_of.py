"""A pitch as a sum of kit items, so that a ratio can be explained by the parts it rests on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Pitch:
    """`length_mm` of one repeat and `play_mm` it gives each way; `parts` item -> how many of it
    (fractions allowed; empty where only a length was given); `nodes` equal steps in one pitch."""

    id: str
    length_mm: Fraction
    play_mm: Fraction
    parts: Mapping[str, Fraction]
    nodes: int

    @property
    def recipe(self) -> str:
        """The sum in words: "5/6 R60", "2 R120 + 1 spacer"."""
        return " + ".join(f"{count} {item}" for item, count in self.parts.items())


def difference(
    first: Pitch, first_count: Fraction, second: Pitch, second_count: Fraction
) -> Mapping[str, Fraction] | None:
    """Parts of `first_count` first pitches less those of `second_count` second ones.

    Returns:
        item -> count left over, without zeros; None where a pitch is only a length.
    """
    if not first.parts or not second.parts:
        return None
    left = dict.fromkeys((*first.parts, *second.parts), Fraction(0))
    for item, count in first.parts.items():
        left[item] += first_count * count
    for item, count in second.parts.items():
        left[item] -= second_count * count
    return {item: count for item, count in left.items() if count}


def number(value: Fraction) -> str:
    """A fraction for reading: as a decimal where four digits hold it, else as it stands.

    >>> number(Fraction(5, 2)), number(Fraction(1, 3))
    ('2.5', '1/3')
    """
    short = f"{float(value):.4f}".rstrip("0").rstrip(".")
    return short if Fraction(short) == value else str(value)


def reason(first: Pitch, first_count: Fraction, second: Pitch, second_count: int) -> str:
    """Why a ratio holds: the same parts, the same length, or a difference that play takes.

    The first holds whatever the items really measure; the second stands and falls with the
    numbers given; the third uses up play.
    """
    misfit = first_count * first.length_mm - second_count * second.length_mm
    left = difference(first, first_count, second, Fraction(second_count))
    counted = f"{number(first_count)} × {first.id}", f"{second_count} × {second.id}"
    if left is not None and not left:
        total = " + ".join(f"{number(first_count * c)} {i}" for i, c in first.parts.items())
        return (
            f"{counted[0]} ({number(first_count)} × {first.recipe}) and {counted[1]} "
            f"({second_count} × {second.recipe}) are the same parts, {total}: it holds "
            f"whatever these parts really measure."
        )
    if misfit == 0:
        length = number(first_count * first.length_mm)
        return (
            f"{counted[0]} and {counted[1]} are both exactly {length} mm: it holds as long as "
            f"the pitches are what was typed."
        )
    lengths = [number(first_count * first.length_mm), number(second_count * second.length_mm)]
    which = "longer" if misfit > 0 else "shorter"
    return (
        f"{counted[0]} is {lengths[0]} mm and {counted[1]} is {lengths[1]} mm: the first is "
        f"{number(abs(misfit))} mm {which}, and the seats' play must take that."
    )


def step_count(parts: Sequence[tuple[str, Fraction]]) -> int:
    """Equal steps inside one pitch: n where it is n of one item in line, else 1.

    A node stands at each step, so panels may meet the frame there too.
    """
    if len(parts) == 1 and parts[0][1].denominator == 1 and parts[0][1] >= 1:
        return int(parts[0][1])
    return 1
