"""Lifting by several people, and thousands of snaps by hand."""

from collections.abc import Iterable

from baywright_service.contract import Caution, Source

TEAM = Source("HSE, guidance on the Manual Handling Operations Regulations (L23), team handling")
FILTER = Source("HSE INDG143, Manual handling at work: a brief guide", "Figure 1")
THUMBS = Source("HSE HSG60, Upper limb disorders in the workplace", "breaks; from memory")

#: The lower of the two limits of the figure close to the body: anybody lifts this alone.
ALONE_KG = 16.0

#: From here on the work is repetitive. Common practice, no source.
MANY_SNAPS = 500


def lifting_cautions(mass_kg: float, people: int) -> tuple[Caution, ...]:
    """What carrying this mass with so many people calls for."""
    found = [
        Caution(
            f"{mass_kg:.1f} kg: alone and close to the body the guide's figure shows at most 25 kg "
            "for men and 16 kg for women, and less at reach, at height or on stairs.",
            FILTER,
        )
    ]
    if people > 1:
        share = "two thirds" if people == 2 else "half"
        text = f"{people} people together bear about {share} of the sum of what each bears alone."
        found.append(Caution(text, TEAM))
    if people > 4:
        found.append(Caution("More than four rarely lift well together: use wheels.", TEAM))
    return tuple(found)


def section_cautions(masses_kg: Iterable[float]) -> tuple[Caution, ...]:
    """What the heaviest of these sections calls for; none where anybody lifts each alone.

    Source: HSE INDG143, Figure 1.
    """
    heaviest = max(masses_kg, default=0.0)
    return lifting_cautions(heaviest, 2) if heaviest > ALONE_KG else ()


def snapping_cautions(snaps: int) -> tuple[Caution, ...]:
    """What so many snaps by thumb call for."""
    if snaps < MANY_SNAPS:
        return ()
    text = (
        f"{snaps} snaps strain thumbs: short breaks often, change of hands, a pushing tool; stop "
        "when it hurts."
    )
    return (Caution(text, THUMBS),)
