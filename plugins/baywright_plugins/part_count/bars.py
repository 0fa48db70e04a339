"""Strokes that hatch a narrow bar."""


def strokes(
    x: float, y: float, width: float, height: float
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Rising strokes at 45 degrees, cut off at the bar; closer than the pattern of large areas."""
    apart = 1.6
    found = []
    for number in range(int((width + height) / apart) + 1):
        foot = -height + apart * number
        low, high = max(foot, 0.0), min(foot + height, width)
        if high > low:
            found.append(((x + low, y + low - foot), (x + high, y + high - foot)))
    return found
