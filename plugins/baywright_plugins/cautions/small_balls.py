"""Balls that a small child can choke on."""

from baywright_service.contract import Caution, Source

#: A rigid ball that passes a hole of 1.75 in is a small ball; so is one of exactly that size.
SMALL_BALL_MM = 1.75 * 25.4
#: A ball this small lies inside the small-parts cylinder of 1.25 in, whichever way it is turned.
SMALL_PART_MM = 1.25 * 25.4

BALL_RULE = Source("16 CFR 1500.18(a)(17), small balls", "gauge in 16 CFR 1117.2(b): 1.75 in hole")
LABEL_RULE = Source("15 U.S.C. 1278(b), cautionary statement for balls of 1.75 in or less")
PART_RULE = Source(
    "16 CFR 1501.4, small-parts cylinder", "Figure 1: 1.25 in wide, 1 to 2.25 in deep"
)


def is_small_ball(diameter_mm: float) -> bool:
    """Whether a rigid ball counts as small. Source: 16 CFR 1500.18(a)(17), 15 U.S.C. 1278(b)."""
    return diameter_mm <= SMALL_BALL_MM + 1e-9


def is_small_part(diameter_mm: float) -> bool:
    """Whether a ball may lie inside the small-parts cylinder. Source: 16 CFR 1501.4, Figure 1.

    Between 25.4 mm and 31.75 mm the gauge itself decides; counted as a small part here.
    """
    return diameter_mm <= SMALL_PART_MM + 1e-9


def ball_cautions(diameter_mm: float) -> tuple[Caution, ...]:
    """What a ball of this size calls for where children may come near."""
    slip = Caution("Balls on the floor of the hall are a slip hazard: catch and pick up every one.")
    if not is_small_ball(diameter_mm):
        return (slip,)
    choke = (
        f"A ball of {diameter_mm:g} mm passes the gauge of {SMALL_BALL_MM:g} mm: small children "
        "can choke on it. Keep it behind a screen, and label it."
    )
    found = [Caution(choke, BALL_RULE), Caution("Toys with it need a warning label.", LABEL_RULE)]
    if is_small_part(diameter_mm):
        part = (
            f"A ball of {diameter_mm:g} mm also counts as a small part: nothing for children "
            "under 3 years."
        )
        found.append(Caution(part, PART_RULE))
    return (*found, slip)
