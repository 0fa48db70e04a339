"""Inks and marks that the pictures share."""

from baywright_service.contract import Circle, Ink, Line, Shape

PLUMB = Ink("#52606d", 0.18, (0.8, 0.5))
CENTRE = Ink("#9a031e", 0.25)
LEANS = Ink("#6b4e00", 0.4)
HAND = Ink("#0b5394", 0.45)
STAIRS = Ink("#1f2933", 0.25)


def centre_mark(at: tuple[float, float], size: float) -> list[Shape]:
    """A ring with a cross: the centre of mass."""
    x, y = at
    return [
        Circle(at, size, CENTRE),
        Line(((x - 1.5 * size, y), (x + 1.5 * size, y)), CENTRE),
        Line(((x, y - 1.5 * size), (x, y + 1.5 * size)), CENTRE),
    ]
