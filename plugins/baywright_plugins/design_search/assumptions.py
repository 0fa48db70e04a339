"""What the search takes for granted."""

from .search import ENUMERABLE, MOST_WORK
from .study import Study


def assumptions(study: Study) -> list[str]:
    """Sentences for every answer, and those that this one calls for."""
    problem, space = study.problem, study.problem.space
    said = [
        "Sections are boxes with a beam on every edge, in one row along x, all of one depth and on "
        "one floor; all of them are braced in one way and have the same rods along each axis.",
        "Whether another shape, curve, lift drive, track or level of balls would serve better is "
        "not asked: run each plan, and its other steps, before anything is built.",
        "What sticks out of sections counts over their whole side; outer hubs are not flush.",
        "Strength counts first slip in every case asked for, each section by itself; collapse, "
        "vibration, drops and steps are left to the strength check of the plan.",
        "A set that no other machine beats holds compromises, not a winner: which to build is "
        "for the builder to say.",
    ]
    if problem.lifts is not None:
        said.append("Lifts fail one at a time and alike; motors they share are left out.")
    if problem.free is None:
        said.append("No stock is given, so nothing is short and no pieces are bought.")
    if not study.found.whole:
        said.append(
            f"Above {ENUMERABLE} machines a seeded search draws some at random and then looks "
            f"around the best: another seed may find other machines, and better ones."
        )
    if study.unseen:
        said.append(
            f"Strength is worked out for about {MOST_WORK / 1000:g} s at most; "
            f"{study.unseen} of {space.count} machines were neither removed nor worked out."
        )
    return said
