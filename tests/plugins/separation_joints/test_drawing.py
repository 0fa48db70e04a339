"""The pictures, by their geometry."""

from baywright_plugins.separation_joints.drawing import FOLDS, RIGID, ROD
from baywright_service.contract import Circle, Dimension, Drawing, Label, Line, Polygon, Segments
from tests.plugins.separation_joints.builds import CALCULATOR, Json, machine, section


def draw(inputs: Json, view: str) -> Drawing:
    loaded = CALCULATOR.load(inputs)
    return CALCULATOR.draw(loaded, CALCULATOR.calculate(loaded), view)


def test_the_plan_shows_every_section_to_scale_and_rods_across_each_gap() -> None:
    """Two sections, two views: rectangles as large as they are, 26 mm apart, R60 between."""
    inputs = machine(section("A", 2, 1, 3), section("B", 3, 1, 2))
    picture = draw(inputs, "plan")
    boxes = [s for s in picture.shapes if isinstance(s, Polygon) and s.ink == RIGID]
    widths = sorted(max(x for x, _ in b.points) - min(x for x, _ in b.points) for b in boxes)
    assert widths == [274, 274, 394, 394]
    right_of_a = min(max(x for x, _ in b.points) for b in boxes)
    left_of_b = max(min(x for x, _ in b.points) for b in boxes)
    assert left_of_b - right_of_a == 26
    rods = [s for s in picture.shapes if isinstance(s, Segments) and s.ink == ROD]
    assert {round(b[0] - a[0], 6) for s in rods for a, b in s.pairs} == {60.0}
    words = [s.text for s in picture.shapes if isinstance(s, Label)]
    assert words.count("6 R60, 26 mm clear") == 2


def test_a_section_that_folds_is_hatched_and_says_so() -> None:
    faces = {"default": "single", "x_plus": "none"}
    picture = draw(
        machine(section("A", 3, 1, 1, side_faces=faces, cross_faces={"every": 0})), "plan"
    )
    assert any(isinstance(s, Polygon) and s.ink == FOLDS for s in picture.shapes)
    assert any(isinstance(s, Label) and s.text == "folds 1 way" for s in picture.shapes)


def test_the_joint_marks_every_hub_once() -> None:
    """A taller first section: coupled and facing hubs are rings, those alone are crosses."""
    inputs = machine(section("A", 2, 2, 4), section("B", 2, 2, 2))
    loaded = CALCULATOR.load(inputs)
    result = CALCULATOR.calculate(loaded)
    joint = result.value["joints"][0]
    picture = CALCULATOR.draw(loaded, result, "joint")
    rings = [s for s in picture.shapes if isinstance(s, Circle)]
    assert len(rings) == joint["facing_pairs_count"]
    face = joint["face"]
    crosses = len(face["alone_first_mm"]) + len(face["alone_second_mm"])
    assert crosses == joint["alone_first_count"] + joint["alone_second_count"] == 6
    lines = [s for s in picture.shapes if isinstance(s, Line) and len(s.points) == 2]
    assert len(lines) == 2 * crosses + 1
    words = {s.text for s in picture.shapes if isinstance(s, Dimension)}
    assert {"60 mm between centres", "26 mm clear", "rods 240 mm apart"} <= words


def test_a_machine_of_one_section_has_no_joint_to_draw() -> None:
    picture = draw(machine(section("A", 2, 1, 1)), "joint")
    assert picture.shapes == [] and "no joint" in picture.description
