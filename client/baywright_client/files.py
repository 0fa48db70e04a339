"""YAML and JSON files, with the line and column of every value.

A file may take in another one: `{$file: kit.yaml}` stands for the content of kit.yaml, and
`{$file: parts.yaml#/kit}` for one part of it. The name is relative to the file that says it. The
service never sees a file name: what is sent is the whole.

Scalars follow JSON, whatever YAML 1.1 makes of them: `no`, `12:30` and `2024-01-01` are text,
`1e3` is a number, and a name that stands twice in one object is refused.
"""

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, cast
from urllib.parse import unquote

from .errors import BadFile, Complaint, Place
from .pointers import child, parts_of

INCLUDE = "$file"
STANDARD_INPUT = "-"
MOST_BYTES = 64 * 1024 * 1024
MOST_VALUES = 2_000_000
DEEPEST = 64
DEEPEST_INCLUDE = 8

_JSON_TOKENS = re.compile(r'"(?:[^"\\]|\\.)*"|\t')
_BRACKETS = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{}]')
_TAG = "tag:yaml.org,2002:"


@dataclass(frozen=True)
class Loaded:
    """What a file says, and where it says it: `places` by JSON Pointer."""

    value: Any
    places: dict[str, Place] = field(default_factory=dict)

    def place(self, pointer: str) -> Place | None:
        """Where `pointer` stands, or the nearest thing around it that the file does say."""
        while pointer not in self.places and pointer:
            pointer = pointer.rpartition("/")[0]
        return self.places.get(pointer)


def load(path: str) -> Loaded:
    """Read `path` ("-" is standard input), other files taken in. Raises BadFile."""
    reader = _Reader()
    name = "standard input" if path == STANDARD_INPUT else path
    base = Path() if path == STANDARD_INPUT else Path(path).parent
    text = _read_standard_input() if path == STANDARD_INPUT else _read(Path(path), None)
    value = reader.parse(text, name, base, "", ())
    return Loaded(value, reader.places)


def load_object(path: str) -> Loaded:
    """As `load`, of a file that must hold fields. Raises BadFile."""
    loaded = load(path)
    if not isinstance(loaded.value, dict):
        message = "The file must hold fields (name: value), not a list or a single value."
        raise BadFile([Complaint(message, loaded.place(""))])
    return loaded


def _read(path: Path, asked_at: Place | None) -> str:
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= MOST_BYTES else b""
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        next_step = f"Files here: {', '.join(near)}." if (near := _neighbours(path)) else ""
        raise BadFile([Complaint(f"Cannot read {path}: {reason}.", asked_at)], next_step) from error
    if size > MOST_BYTES:
        raise BadFile([Complaint(f"{path} is larger than {MOST_BYTES} bytes.", asked_at)])
    return _decoded(content, str(path))


def _read_standard_input() -> str:
    if sys.stdin is None:
        raise BadFile([Complaint("There is no standard input to read.")])
    return _decoded(sys.stdin.buffer.read(MOST_BYTES), "standard input")


def _decoded(content: bytes, name: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        column = error.start - content.rfind(b"\n", 0, error.start)
        place = Place(name, line, column)
        raise BadFile([Complaint("The file is not text in UTF-8.", place)]) from None


def _neighbours(path: Path) -> list[str]:
    """Files of the same folder that can be read, the nearest names first."""
    import difflib

    try:
        names = [
            entry.name
            for entry in path.parent.iterdir()
            if entry.suffix in (".yaml", ".yml", ".json")
        ]
    except OSError:
        return []
    return difflib.get_close_matches(path.name, names, n=3, cutoff=0.4)


class _Reader:
    """One loading: the places found so far, and how many values there are."""

    def __init__(self) -> None:
        self.places: dict[str, Place] = {}
        self.count = 0

    def parse(
        self, text: str, name: str, base: Path, at: str, chain: tuple[Path, ...], part: str = ""
    ) -> Any:
        node = _composed(text, name)
        if node is None:
            raise BadFile([Complaint("The file is empty.", Place(name, 1, 1))])
        self.name, self.base, self.chain = name, base, chain
        for step in parts_of(part):
            node = self._member(node, step, part)
        self.places.setdefault(at, _place(name, node))
        self.count += self._size(node, {})
        if self.count > MOST_VALUES:
            raise self._complaint(node, at, f"The file holds more than {MOST_VALUES} values.")
        return self._value(node, at, 0)

    def _size(self, node: Any, known: dict[int, int]) -> int:
        """How many values a node stands for, aliases written out; each node is counted once."""
        if node.id == "scalar":
            return 1
        if id(node) not in known:
            known[id(node)] = MOST_VALUES  # what takes itself in would never end
            inner = node.value if node.id == "sequence" else [pair[1] for pair in node.value]
            known[id(node)] = 1 + sum(self._size(each, known) for each in inner)
        return known[id(node)]

    def _member(self, node: Any, step: str, part: str) -> Any:
        entries: dict[str, Any] = {}
        if node.id == "mapping":
            entries = {key.value: value for key, value in node.value if key.id == "scalar"}
        elif node.id == "sequence":
            entries = {str(k): value for k, value in enumerate(node.value)}
        if step not in entries:
            raise BadFile([Complaint(f"There is no {part} in this file.", _place(self.name, node))])
        return entries[step]

    def _value(self, node: Any, at: str, depth: int) -> Any:
        if depth > DEEPEST:
            raise self._complaint(node, at, f"The file holds more than {DEEPEST} levels.")
        if node.id == "scalar":
            return self._scalar(node, at)
        if node.id == "sequence":
            return self._items(node, at, depth)
        return self._members(node, at, depth)

    def _items(self, node: Any, at: str, depth: int) -> list[Any]:
        self._plain(node, at, "seq")
        items = []
        for k, inner in enumerate(node.value):
            pointer = f"{at}/{k}"
            self.places[pointer] = _place(self.name, inner)
            items.append(self._value(inner, pointer, depth + 1))
        return items

    def _members(self, node: Any, at: str, depth: int) -> Any:
        self._plain(node, at, "map")
        members: dict[str, Any] = {}
        for key, inner in node.value:
            if key.id != "scalar":
                raise self._complaint(key, at, "A field's name must be text.")
            if key.value in members:
                raise self._complaint(key, at, f"“{key.value}” stands twice in one object.")
            if key.value == INCLUDE:
                return self._included(node, inner, at)
            pointer = child(at, key.value)
            self.places[pointer] = _place(self.name, key)
            members[key.value] = self._value(inner, pointer, depth + 1)
        return members

    def _included(self, node: Any, inner: Any, at: str) -> Any:
        """The content of another file, in place of `{$file: ...}`."""
        if len(node.value) > 1:
            raise self._complaint(node, at, f"{INCLUDE} must stand alone in its object.")
        if inner.id != "scalar" or inner.tag != f"{_TAG}str" or not inner.value:
            raise self._complaint(inner, at, f"{INCLUDE} must be the name of a file.")
        file, _, fragment = inner.value.partition("#")
        if Path(file).is_absolute():
            message = f"{INCLUDE} must be relative to this file, not {file}."
            raise self._complaint(inner, at, message)
        path = self.base / file
        here = (self.name, self.base, self.chain)
        if path.resolve() in self.chain or len(self.chain) >= DEEPEST_INCLUDE:
            raise self._complaint(inner, at, f"Files take one another in, in a circle: {file}.")
        text = _read(path, _place(self.name, inner))
        chain = (*self.chain, path.resolve())
        value = self.parse(text, str(path), path.parent, at, chain, unquote(fragment))
        self.name, self.base, self.chain = here
        return value

    def _scalar(self, node: Any, at: str) -> Any:
        kind = node.tag.removeprefix(_TAG)
        if kind == "str":
            return node.value
        if kind == "null":
            return None
        if kind == "bool":
            return node.value.lower() == "true"
        if kind in ("int", "float"):
            return self._number(node, at)
        raise self._complaint(node, at, f"The tag {node.tag} means nothing here.")

    def _number(self, node: Any, at: str) -> int | float:
        whole = node.tag == f"{_TAG}int"
        if len(node.value) > 400:
            raise self._complaint(node, at, "This number has too many digits.")
        number = int(node.value) if whole else float(node.value)
        if abs(number) > sys.float_info.max:
            raise self._complaint(
                node, at, f"{node.value} is beyond every number that can be sent."
            )
        return number

    def _plain(self, node: Any, at: str, kind: str) -> None:
        if node.tag != f"{_TAG}{kind}":
            raise self._complaint(node, at, f"The tag {node.tag} means nothing here.")

    def _complaint(self, node: Any, at: str, message: str) -> BadFile:
        return BadFile([Complaint(message, _place(self.name, node), at)])


def _place(name: str, node: Any) -> Place:
    return Place(name, node.start_mark.line + 1, node.start_mark.column + 1)


def _composed(text: str, name: str) -> Any:
    import yaml

    if text.lstrip()[:1] in ("{", "["):  # JSON may be indented with tabs, YAML may not
        text = _JSON_TOKENS.sub(lambda m: m[0] if m[0] != "\t" else " ", text)
    if _depth(text) > DEEPEST * 4:
        raise BadFile([Complaint(f"The file holds more than {DEEPEST} levels.", Place(name, 1, 1))])
    try:
        return yaml.compose(text, Loader=_loader())
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Place(name, mark.line + 1, mark.column + 1) if mark else None
        message = f"Cannot read this as YAML or JSON: {error.problem or error.context}."
        raise BadFile([Complaint(message, place)], _yaml_hint(text, place)) from None
    except yaml.YAMLError as error:
        raise BadFile([Complaint(_first_line(error), Place(name, 1, 1))]) from None
    except RecursionError:
        raise BadFile([Complaint("The file is nested too deep.", Place(name, 1, 1))]) from None


def _first_line(error: Exception) -> str:
    return f"Cannot read this as YAML or JSON: {str(error).splitlines()[0]}."


def _yaml_hint(text: str, place: Place | None) -> str:
    lines = text.splitlines()
    if place and place.line <= len(lines) and "\t" in lines[place.line - 1]:
        return "YAML is indented with spaces; this line holds a tab."
    return "Look at this line and the one above: a colon, quote or bracket may be missing."


def _depth(text: str) -> int:
    """The deepest nesting by brackets, or by dashes in one line."""
    deepest = depth = 0
    for token in _BRACKETS.finditer(text):
        if token[0] in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif token[0] in "]}":
            depth -= 1
    return max(deepest, max((line.count("- ") for line in text.splitlines()), default=0))


@cache
def _loader() -> Any:
    import yaml

    base: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

    class Loader(base):  # type: ignore[misc]
        """Scalars as JSON means them."""

        yaml_implicit_resolvers: dict[str, Any] = {}

    for kind, pattern, first in _scalars():
        Loader.add_implicit_resolver(f"{_TAG}{kind}", re.compile(pattern), list(first))
    return cast(Any, Loader)


def _scalars() -> Iterator[tuple[str, str, str | list[str]]]:
    yield "null", r"^(?:~|null|Null|NULL|)$", ["~", "n", "N", ""]
    yield "bool", r"^(?:true|True|TRUE|false|False|FALSE)$", "tTfF"
    yield "int", r"^[-+]?[0-9]+$", "-+0123456789"
    number = r"(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)"
    yield "float", rf"^[-+]?{number}(?:[eE][-+]?[0-9]+)?$", "-+.0123456789"
