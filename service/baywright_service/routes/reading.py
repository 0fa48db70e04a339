"""What routes read of a request: its body as strict JSON, its query as published."""

import difflib
import zlib
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from flask import current_app, request

from ..host import host
from ..json_reader import NotJson, read_json
from ..problems import (
    BodyTooLarge,
    InvalidParameter,
    MalformedEncoding,
    MalformedJson,
    UnsupportedMediaType,
    errors_from,
    invalid_parameter,
)

JSON_TYPE = "application/json"
MERGE_PATCH_TYPE = "application/merge-patch+json"

View = TypeVar("View", bound=Callable[..., Any])


def takes(*names: str) -> Callable[[View], View]:
    """Mark a route with the query parameters it knows; all others are refused."""

    def mark(view: View) -> View:
        view.parameters = names  # type: ignore[attr-defined]
        return view

    return mark


def check_query() -> None:
    """Refuse parameters that the route does not know, and those given twice."""
    if request.endpoint is None or not request.args:
        return
    view = current_app.view_functions[request.endpoint]
    known: tuple[str, ...] = getattr(view, "parameters", ())
    errors = [
        {"parameter": name, "code": code, "detail": detail}
        for name, values in request.args.lists()
        for code, detail in _query_faults(name, values, known)
    ]
    if errors:
        raise InvalidParameter(errors[0]["detail"], errors)


def _query_faults(
    name: str, values: list[str], known: tuple[str, ...]
) -> Iterable[tuple[str, str]]:
    if name not in known:
        close = difflib.get_close_matches(name[:64], known, n=1, cutoff=0.5)
        hint = f" Did you mean {close[0]}?" if close else ""
        yield "unknown-field", f"No such parameter.{hint}"
    elif len(values) > 1:
        yield "not-unique", "May be given once."


def json_body(media_type: str = JSON_TYPE, *, keep_null: bool = False) -> Any:
    """The body as strict JSON; a merge patch keeps its nulls. Raises what the tree names."""
    _check_type(media_type)
    content = _unpacked(_raw_body())
    settings = host().settings
    keep_null = keep_null or media_type == MERGE_PATCH_TYPE
    try:
        return read_json(content, depth_limit=settings.depth_limit, keep_null=keep_null)
    except NotJson as error:
        raise MalformedJson(error.detail, errors_from(error.faults)) from None


def _check_type(media_type: str) -> None:
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    if request.mimetype != media_type or charset not in ("utf-8", "utf8"):
        found = request.headers.get("Content-Type", "none")
        headers = {"Accept-Patch" if media_type == MERGE_PATCH_TYPE else "Accept-Post": media_type}
        detail = f"Content-Type must be {media_type}; found {found[:100]}."
        raise UnsupportedMediaType(detail, headers=headers)


def _raw_body() -> bytes:
    limit = host().settings.body_limit_bytes
    if (request.content_length or 0) > limit:
        raise _too_large(limit)
    content: bytes = request.stream.read(limit + 1)
    if len(content) > limit:
        raise _too_large(limit)
    return content


def _unpacked(content: bytes) -> bytes:
    coding = request.headers.get("Content-Encoding", "identity").strip().lower()
    if coding == "identity":
        return content
    if coding not in ("gzip", "x-gzip"):
        detail = f"Content-Encoding may be gzip or left out; found {coding[:40]}."
        raise UnsupportedMediaType(detail, headers={"Accept-Encoding": "gzip"})
    limit = host().settings.body_limit_bytes
    unpacker = zlib.decompressobj(wbits=31)
    try:
        plain = unpacker.decompress(content, limit + 1)
    except zlib.error:
        raise MalformedEncoding("The body is not gzip.") from None
    if len(plain) > limit:
        raise _too_large(limit)
    if not unpacker.eof or unpacker.unused_data:
        raise MalformedEncoding("The body is not one whole gzip stream.")
    return plain


def _too_large(limit: int) -> BodyTooLarge:
    detail = f"A body may have at most {limit} bytes, unpacked."
    return BodyTooLarge(detail, members={"limit": limit})


def whole_parameter(name: str, default: int, low: int, high: int) -> int:
    """A whole number of the query. Raises InvalidParameter."""
    text = request.args.get(name)
    if text is None:
        return default
    if not (text.isascii() and text.isdecimal() and len(text) < 10 and low <= int(text) <= high):
        raise invalid_parameter(name, f"Must be a whole number from {low} to {high}.")
    return int(text)


def flag_parameter(name: str) -> bool:
    """A parameter that is true or false; false where it is not given. Raises InvalidParameter."""
    text = request.args.get(name, "false")
    if text not in ("true", "false"):
        raise invalid_parameter(name, "Must be true or false.")
    return text == "true"
