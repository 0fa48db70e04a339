"""JSON Pointers (RFC 6901) as the service writes them."""

from typing import Any


def child(pointer: str, part: str | int) -> str:
    """The pointer to a member of what `pointer` names.

    >>> child("/rods", "a/b")
    '/rods/a~1b'
    """
    return pointer + "/" + str(part).replace("~", "~0").replace("/", "~1")


def parts_of(pointer: str) -> list[str]:
    """The unescaped parts of a pointer."""
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]


def look_up(value: Any, pointer: str) -> Any:
    """What stands at `pointer`. Raises LookupError."""
    for part in parts_of(pointer):
        if isinstance(value, list):
            if not part.isdecimal():
                raise LookupError(pointer)
            value = value[int(part)]
        elif isinstance(value, dict):
            value = value[part]
        else:
            raise LookupError(pointer)
    return value
