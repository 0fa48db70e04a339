"""The longest step that two pitches are whole multiples of: why they meet where they do."""

from dataclasses import dataclass
from fractions import Fraction

from .made_of import Pitch, number


@dataclass(frozen=True)
class CommonStep:
    """`length` of the step, and how many of it make the first and the second pitch: without a
    common factor, so that they meet exactly after `second_steps` firsts, and not before."""

    length: Fraction
    first_steps: int
    second_steps: int


def common_step(first: Fraction, second: Fraction) -> CommonStep:
    """first = A g and second = B g with A and B without a common factor; B first = A second.

    Source: greatest common divisor of fractions; Concrete Mathematics, section 4.1, from memory.

    >>> common_step(Fraction(120), Fraction(50))
    CommonStep(length=Fraction(10, 1), first_steps=12, second_steps=5)
    """
    ratio = first / second
    return CommonStep(first / ratio.numerator, ratio.numerator, ratio.denominator)


def steps_in_words(first: Pitch, second: Pitch) -> str:
    """The common step, in the shared kit item where there is one, and the meetings it makes."""
    step = common_step(first.length_mm, second.length_mm)
    a, b = step.first_steps, step.second_steps
    words = (
        f"{first.id} and {second.id} are whole multiples of one step, {_step(first, second, step)}"
        f": {first.id} is {a} of them, {second.id} {b}. Counted so, {b} × {first.id} = {a} × "
        f"{second.id} = {a * b} steps is the first exact meeting"
    )
    if first.nodes == 1:
        return f"{words}."
    node = common_step(first.length_mm / first.nodes, second.length_mm)
    count = Fraction(node.second_steps, first.nodes)
    if count.denominator == 1:
        return f"{words}, and no node inside a {first.id} comes sooner."
    between = f"{number(Fraction(a, first.nodes))} steps"
    met = f"{number(Fraction(a) * count)} steps"
    return (
        f"{words}; with a node after every {between} of a {first.id} they meet at {met} already: "
        f"{node.second_steps} nodes on, {number(count)} × {first.id} = {node.first_steps} × "
        f"{second.id}."
    )


def _step(first: Pitch, second: Pitch, step: CommonStep) -> str:
    length = f"{number(step.length)} mm"
    if len(first.parts) == 1 and first.parts.keys() == second.parts.keys():
        (item,) = first.parts
        share = step.length / (first.length_mm / first.parts[item])
        return f"{share} {item} ({length})"
    return length
