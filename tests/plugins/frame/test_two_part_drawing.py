"""The picture of two-part hubs says what the slide analysis found."""

import re
from collections import Counter

from baywright_plugins.frame.two_part_drawing import LOCKED, LOOSE, two_part_hubs_drawing
from baywright_plugins.frame.two_part_hubs import slides
from baywright_service.contract import Arrow, Circle, Label, Polygon, svg_text
from tests.plugins.frame.test_two_part_hubs import beam, hubs_of


def test_every_hub_is_drawn_once_with_its_state() -> None:
    frame = beam(3, xz="alternating", xy="alternating")
    hubs = hubs_of(frame)
    state = slides(frame, hubs)
    drawing = two_part_hubs_drawing(frame, hubs, state)
    squares = Counter(s.ink for s in drawing.shapes if isinstance(s, Polygon))
    loose = int((~state.held).sum())
    assert squares == {LOOSE: loose, LOCKED: int((state.held & hubs.two_part).sum())}
    assert sum(isinstance(s, Circle) for s in drawing.shapes) == int((~hubs.two_part).sum())
    arrows = [s for s in drawing.shapes if isinstance(s, Arrow)]
    assert len(arrows) == int(hubs.two_part.sum())
    rightward = sum(s.end[0] > s.start[0] for s in arrows)
    assert rightward == int((hubs.way > 0).sum())
    places = {s.text for s in drawing.shapes if isinstance(s, Label)}
    assert places == {" ".join(map(str, row)) for row in frame.lattice[~state.held].tolist()}
    assert f"{loose} loose" in drawing.title
    assert re.search(r"<svg.*</svg>", svg_text(drawing), re.S)


def test_hubs_that_cover_one_another_show_the_loose_one() -> None:
    frame = beam(3, xz="crossed", xy="alternating")
    hubs = hubs_of(frame, moving="second")
    state = slides(frame, hubs)
    drawing = two_part_hubs_drawing(frame, hubs, state, view="front")
    squares = [s for s in drawing.shapes if isinstance(s, Polygon)]
    covered = {tuple(row) for row in frame.lattice[~state.held][:, [0, 2]].tolist()}
    assert sum(s.ink == LOOSE for s in squares) == len(covered)
    assert len({tuple(s.points) for s in squares}) == len(squares)
