"""Files: what they say, where they say it, and what is wrong with them."""

from pathlib import Path
from typing import Any

import pytest

from baywright_client.errors import BadFile
from baywright_client.files import load, load_object


def write(folder: Path, name: str, text: str) -> str:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return str(path)


def complaint(path: str) -> tuple[int, int, str]:
    """Line, column and text of the one complaint about a file."""
    with pytest.raises(BadFile) as caught:
        load_object(path)
    (entry,) = caught.value.complaints
    return (entry.place.line, entry.place.column, entry.message) if entry.place else (0, 0, "")


YAML = """\
title: Shelf
rods:
  - {id: R60, pitch_mm: 60}
  - id: R85
    pitch_mm: 84.8
a/b: {m~n: 1}
"""


def test_every_value_has_a_place(tmp_path: Path) -> None:
    """A field stands where its name does, an item of a list where it begins."""
    loaded = load(write(tmp_path, "a.yaml", YAML))
    lines = {pointer: (place.line, place.column) for pointer, place in loaded.places.items()}
    assert lines["/title"] == (1, 1)
    assert lines["/rods/0"] == (3, 5)
    assert lines["/rods/1/pitch_mm"] == (5, 5)
    assert lines["/a~1b/m~0n"] == (6, 7)


def test_what_is_not_there_is_put_where_it_would_be(tmp_path: Path) -> None:
    loaded = load(write(tmp_path, "a.yaml", YAML))
    place = loaded.place("/rods/0/mass_g")
    assert place and (place.line, place.column) == (3, 5)


def test_json_with_tabs_has_places_too(tmp_path: Path) -> None:
    loaded = load(write(tmp_path, "a.json", '{\n\t"a": 1,\n\t"b": ["x\\ty", {"c": null}]\n}\n'))
    assert loaded.value == {"a": 1, "b": ["x\ty", {"c": None}]}
    assert loaded.places["/b/1/c"].line == 3


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("yes", "yes"),
        ("no", "no"),
        ("12:30", "12:30"),
        ("2024-01-01", "2024-01-01"),
        ("1e3", 1000.0),
        ("1.5e-3", 0.0015),
        ("012", 12),
        ("0x1F", "0x1F"),
        ("true", True),
        ("~", None),
        ("", None),
        (".5", 0.5),
        (".nan", ".nan"),
        ("NaN", "NaN"),
        ("1/32 in", "1/32 in"),
        ("'12'", "12"),
    ],
)
def test_scalars_are_what_json_makes_of_them(tmp_path: Path, text: str, value: Any) -> None:
    loaded = load(write(tmp_path, "a.yaml", f"a: {text}\n")).value["a"]
    assert loaded == value and type(loaded) is type(value)


@pytest.mark.parametrize(
    ("text", "line", "column", "says"),
    [
        ("a: 1\nb: [1, 2\nc: 3\n", 3, 2, "Cannot read this as YAML or JSON"),
        ("a: 1\n\tb: 2\n", 2, 1, "Cannot read this as YAML or JSON"),
        ("a: 1\nb: 2\na: 3\n", 3, 1, "“a” stands twice"),
        ("", 1, 1, "empty"),
        ("- 1\n- 2\n", 1, 1, "must hold fields"),
        ("just words\n", 1, 1, "must hold fields"),
        ("a: !new 1\n", 1, 4, "means nothing here"),
        ("a: !!python/object:os.system {}\n", 1, 4, "means nothing here"),
        ("a:\n  b: 1e999\n", 2, 6, "beyond every number"),
        ("a: " + "9" * 401 + "\n", 1, 4, "too many digits"),
        ("a: " + "[" * 300 + "]" * 300 + "\n", 1, 1, "more than 64 levels"),
        ("a: 1\n---\na: 2\n", 2, 1, "Cannot read this as YAML or JSON"),
        ("? [1]\n: 2\n", 1, 3, "name must be text"),
        ("a: *nobody\n", 1, 4, "Cannot read this as YAML or JSON"),
    ],
)
def test_faults_name_line_and_column(
    tmp_path: Path, text: str, line: int, column: int, says: str
) -> None:
    found = complaint(write(tmp_path, "a.yaml", text))
    assert found[:2] == (line, column)
    assert says in found[2]


def test_anchors_that_multiply_are_refused(tmp_path: Path) -> None:
    """A few lines that stand for 10^9 values end in a complaint, not in a full memory."""
    lines = ["a0: &a0 [x,x,x,x,x,x,x,x,x,x]"]
    lines += [f"a{k}: &a{k} [{','.join([f'*a{k - 1}'] * 10)}]" for k in range(1, 9)]
    assert "more than 2000000 values" in complaint(write(tmp_path, "a.yaml", "\n".join(lines)))[2]


def test_an_anchor_inside_itself_is_refused(tmp_path: Path) -> None:
    assert "more than" in complaint(write(tmp_path, "a.yaml", "a: &a [1, *a]\n"))[2]


def test_text_that_is_not_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(b"a: 1\nb: \xff\n")
    assert complaint(str(path)) == (2, 4, "The file is not text in UTF-8.")


def test_a_missing_file_names_its_neighbour(tmp_path: Path) -> None:
    write(tmp_path, "planned.yaml", "a: 1")
    with pytest.raises(BadFile) as caught:
        load(str(tmp_path / "planed.yaml"))
    assert "No such file" in str(caught.value)
    assert "planned.yaml" in caught.value.next_step


def test_a_file_takes_in_another(tmp_path: Path) -> None:
    """Relative to the file that says it; places are those of the file taken in."""
    write(tmp_path, "parts/kit.yaml", "\nrods: {$file: rods.json}\n")
    write(tmp_path, "parts/rods.json", '[{"id": "R60"},\n {"id": "R85"}]')
    loaded = load(write(tmp_path, "plan.yaml", "kit: {$file: parts/kit.yaml}\nlast: 1\n"))
    assert loaded.value == {"kit": {"rods": [{"id": "R60"}, {"id": "R85"}]}, "last": 1}
    assert str(loaded.place("/kit/rods/1/id")).endswith("rods.json:2:3")
    assert str(loaded.place("/kit/rods")).endswith("kit.yaml:2:1")
    assert str(loaded.place("/last")).endswith("plan.yaml:2:1")


def test_a_part_of_a_file(tmp_path: Path) -> None:
    write(tmp_path, "parts.yaml", "kit:\n  rods: [{id: R60}]\nstock: {}\n")
    loaded = load(write(tmp_path, "a.yaml", "rods: {$file: 'parts.yaml#/kit/rods'}\n"))
    assert loaded.value == {"rods": [{"id": "R60"}]}
    assert complaint(write(tmp_path, "b.yaml", "a: {$file: 'parts.yaml#/kits'}\n"))[2] == (
        "There is no /kits in this file."
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a: {$file: a.yaml}\n", "in a circle"),
        ("a: {$file: nowhere.yaml}\n", "Cannot read"),
        ("a: {$file: /etc/hostname}\n", "must be relative"),
        ("a: {$file: b.yaml, more: 1}\n", "must stand alone"),
        ("a: {$file: 12}\n", "must be the name of a file"),
    ],
)
def test_files_that_cannot_be_taken_in(tmp_path: Path, text: str, says: str) -> None:
    line, _, message = complaint(write(tmp_path, "a.yaml", text))
    assert line == 1 and says in message
