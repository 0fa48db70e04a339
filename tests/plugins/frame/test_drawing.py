"""Pictures of frames are the frame: every rod is on the page, and the dimensions are its own."""

import numpy as np
import pytest

from baywright_plugins.frame import FRAME_VIEWS, build_frame, frame_drawing, projected
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.kit import Kit, KitSchema
from baywright_service.contract import Dimension, Segments, svg_text

WOOD = {"diameter_mm": 8.0, "modulus_n_per_mm2": 12000.0, "mass_g": 3.6}
HUB = {
    "id": "H", "ports": [[1, 0, 0]], "mass_g": 11.0, "overhang_mm": 17.0,
    "seat_inset_mm": 10.0, "seat_play_mm": 0.15, "seat_stiffness_n_per_mm": 250.0,
    "tension_n": {"held": 60.0, "free": 24.0}, "compression_n": 300.0,
}  # fmt: skip
RODS = [{"id": "R120", "pitch_mm": 120.0, **WOOD}, {"id": "R170", "pitch_mm": 169.6, **WOOD}]
KIT = Kit.from_inputs(KitSchema().load({"rods": RODS, "hubs": [HUB]}))
FRAME = build_frame(
    LayoutSchema().load(
        {
            "sections": [
                {
                    "id": "A",
                    "rods": {
                        "x": [{"rod": "R120", "count": 3}],
                        "y": [{"rod": "R120", "count": 1}],
                        "z": [{"rod": "R120", "count": 2}],
                    },
                }
            ]
        }
    ),
    KIT,
)


def test_axonometric_shows_every_rod_once() -> None:
    """No rod hides another exactly in the axonometric view, so all of them are drawn."""
    shapes = frame_drawing(FRAME, KIT, "axonometric").shapes
    drawn = sum(len(shape.pairs) for shape in shapes if isinstance(shape, Segments))
    assert drawn == len(FRAME.start)


@pytest.mark.parametrize(
    ("view", "texts"),
    [
        ("front", ["394 mm over hub ends", "274 mm"]),
        ("end", ["154 mm over hub ends", "274 mm"]),
        ("plan", ["394 mm over hub ends", "154 mm"]),
    ],
)
def test_dimensions_run_over_the_hub_ends(view: str, texts: list[str]) -> None:
    """3 x 120 + 2 x 17 and so on, counted by hand."""
    shapes = frame_drawing(FRAME, KIT, view).shapes
    assert [shape.text for shape in shapes if isinstance(shape, Dimension)] == texts


def test_projection_keeps_true_lengths_in_the_plane_of_the_page() -> None:
    """Orthographic views drop one coordinate; the axonometric one shortens all three."""
    corner = np.array([[1.0, 2.0, 3.0]])
    assert projected(corner, "front").tolist() == [[1.0, 3.0]]
    assert projected(corner, "end").tolist() == [[2.0, 3.0]]
    assert projected(corner, "plan").tolist() == [[1.0, 2.0]]
    assert (np.linalg.norm(projected(np.eye(3), "axonometric"), axis=1) < 1.0).all()


@pytest.mark.parametrize("view", list(FRAME_VIEWS))
def test_same_frame_same_bytes(view: str) -> None:
    """The picture is a pure function of the frame."""
    first = svg_text(frame_drawing(FRAME, KIT, view))
    assert first == svg_text(frame_drawing(FRAME, KIT, view))
    assert first.startswith("<svg ") and "<script" not in first
