"""What stands in space: points and bars in millimetres (z up), and what is known of them.

A `Scene` says where things are and how they move; how it looks is for whoever shows it. The host
knows no engineering: a share of 1 is a bar that has nothing left, a force above 0 pulls.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Triple = tuple[float, float, float]
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class SceneGroup:
    """Bars and points that stay together. `apart` says which way it goes, in steps, where the
    whole is pulled apart."""

    id: str
    title: str = ""
    apart: Triple = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class ScenePiece:
    """What bars are made of, by the name people call it, and how thick it is."""

    id: str
    thickness_mm: float


@dataclass(frozen=True)
class SceneState:
    """How groups that are alike fare under one load.

    `ratio` and `force_n` (m,): share used and force of each bar of one such group, in the order of
    the bars; `moved_mm` (n, 3): how far each of its points goes. `worst` is the largest share.
    """

    id: str
    title: str
    groups: tuple[int, ...]
    ratio: Floats
    force_n: Floats
    moved_mm: Floats
    down: Triple = (0.0, 0.0, -1.0)


@dataclass(frozen=True)
class SceneMotion:
    """A way in which groups that are alike move without being held; `moved` (n, 3), largest 1."""

    title: str
    groups: tuple[int, ...]
    moved: Floats


@dataclass(frozen=True)
class SceneAttitude:
    """A group turned so that `down` points to the ground, and what that does to its bars."""

    title: str
    words: str
    groups: tuple[int, ...]
    down: Triple
    ratio: Floats
    force_n: Floats


@dataclass(frozen=True)
class ScenePassing:
    """A body in an opening that it is led through.

    `blocks_mm` are its boxes (lower and upper corner) from its own corner; rows of `turn` are the
    directions across, through and up of the opening in the body's axes. `group` shows its inside
    too: its lowest point then lies at `inside_at_mm` from the body's corner.
    """

    body: str
    opening: str
    words: str
    passes: bool
    spare_mm: float
    opening_mm: tuple[float, float]
    lifted_mm: float
    through_mm: float
    blocks_mm: Sequence[tuple[Triple, Triple]]
    turn: tuple[Triple, Triple, Triple]
    group: int | None = None
    inside_at_mm: Triple = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Scene:
    """Points (n, 3) and bars by the numbers of their points (m,).

    `group_of_point` (n,); `group`, `kind`, `piece` (m,) are places in `groups`, `kinds`, `pieces`;
    a group of -1 joins two groups. `places` (n, 3) are whole numbers people find a point by.
    `size_mm` is over all, `margin_mm` what a point reaches beyond its middle. `left_out` says what
    was known but is not shown, `share_of` what a share of a bar is a share of;
    `state_first` is the id of the state to show first.
    """

    title: str
    words: str
    points_mm: ArrayLike = ()
    group_of_point: ArrayLike = ()
    start: ArrayLike = ()
    end: ArrayLike = ()
    group: ArrayLike = ()
    kind: ArrayLike = ()
    piece: ArrayLike = ()
    groups: Sequence[SceneGroup] = ()
    kinds: Sequence[str] = ()
    pieces: Sequence[ScenePiece] = ()
    places: ArrayLike = ()
    size_mm: Triple = (0.0, 0.0, 0.0)
    margin_mm: float = 0.0
    states: Sequence[SceneState] = ()
    motions: Sequence[SceneMotion] = ()
    attitudes: Sequence[SceneAttitude] = ()
    passings: Sequence[ScenePassing] = ()
    left_out: Sequence[str] = ()
    share_of: str = "of what it takes"
    state_first: str = ""


def scene_json(scene: Scene, verdict: str) -> dict[str, Any]:
    """The scene as JSON. Six digits are more than a picture shows."""
    return {
        "title": scene.title,
        "words": scene.words,
        "verdict": verdict,
        "points_mm": _rows(scene.points_mm),
        "group_of_point": _whole(scene.group_of_point),
        "bars": {
            "start": _whole(scene.start),
            "end": _whole(scene.end),
            "group": _whole(scene.group),
            "kind": _whole(scene.kind),
            "piece": _whole(scene.piece),
        },
        "groups": [
            {"id": group.id, "title": group.title, "apart": list(group.apart)}
            for group in scene.groups
        ],
        "kinds": list(scene.kinds),
        "pieces": [{"id": piece.id, "thickness_mm": piece.thickness_mm} for piece in scene.pieces],
        "places": np.asarray(scene.places, dtype=np.int64).tolist(),
        "size_mm": _numbers(scene.size_mm),
        "margin_mm": scene.margin_mm,
        "states": [_state(state) for state in scene.states],
        "motions": [
            {"title": each.title, "groups": list(each.groups), "moved": _rows(each.moved)}
            for each in scene.motions
        ],
        "attitudes": [_attitude(each) for each in scene.attitudes],
        "passings": [_passing(each) for each in scene.passings],
        "left_out": list(scene.left_out),
        "share_of": scene.share_of,
        "state_first": scene.state_first,
    }


def _state(state: SceneState) -> dict[str, Any]:
    return {
        "id": state.id,
        "title": state.title,
        "groups": list(state.groups),
        "ratio": _numbers(state.ratio),
        "force_n": _numbers(state.force_n),
        "moved_mm": _rows(state.moved_mm),
        "down": _numbers(state.down),
    }


def _attitude(each: SceneAttitude) -> dict[str, Any]:
    return {
        "title": each.title,
        "words": each.words,
        "groups": list(each.groups),
        "down": _numbers(each.down),
        "ratio": _numbers(each.ratio),
        "force_n": _numbers(each.force_n),
    }


def _passing(each: ScenePassing) -> dict[str, Any]:
    shape: dict[str, Any] = {
        "body": each.body,
        "opening": each.opening,
        "words": each.words,
        "passes": each.passes,
        "spare_mm": each.spare_mm,
        "opening_mm": list(each.opening_mm),
        "lifted_mm": each.lifted_mm,
        "through_mm": each.through_mm,
        "blocks_mm": [[_numbers(low), _numbers(high)] for low, high in each.blocks_mm],
        "turn": [_numbers(row) for row in each.turn],
    }
    if each.group is not None:
        shape |= {"group": each.group, "inside_at_mm": _numbers(each.inside_at_mm)}
    return shape


def _numbers(values: ArrayLike) -> list[float]:
    return [float(f"{value:.6g}") for value in np.asarray(values, dtype=float).tolist()]


def _rows(values: ArrayLike) -> list[list[float]]:
    return [_numbers(row) for row in np.asarray(values, dtype=float).reshape(-1, 3)]


def _whole(values: ArrayLike) -> list[int]:
    found: list[int] = np.asarray(values, dtype=np.int64).tolist()
    return found
