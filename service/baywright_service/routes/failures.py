"""The one place where an error becomes an answer: always application/problem+json."""

from typing import Any

from flask import Flask, Response, current_app, g, request
from werkzeug.exceptions import HTTPException
from werkzeug.exceptions import MethodNotAllowed as WrongMethod

from ..json_writer import json_bytes
from ..problems import (
    BodyTooLarge,
    Internal,
    InvalidParameter,
    MethodNotAllowed,
    NotFound,
    Problem,
    UnsupportedMediaType,
    UriTooLong,
)

PROBLEM_TYPE = "application/problem+json"

_BY_STATUS: dict[int, type[Problem]] = {
    400: InvalidParameter,
    404: NotFound,
    405: MethodNotAllowed,
    413: BodyTooLarge,
    414: UriTooLong,
    415: UnsupportedMediaType,
}


def register(app: Flask) -> None:
    """Answer every problem, every error of the framework and every fault of ours."""
    app.register_error_handler(Problem, answer)
    app.register_error_handler(HTTPException, _of_framework)
    app.register_error_handler(Exception, _of_ours)


def answer(problem: Problem) -> Response:
    """The problem as a response."""
    body = json_bytes(problem.body(f"urn:uuid:{g.get('request_id', '')}"))
    response = Response(body, problem.status, content_type=PROBLEM_TYPE)
    for name, value in problem.headers.items():
        response.headers[name] = value
    return response


def _of_framework(error: HTTPException) -> Any:
    kind = _BY_STATUS.get(error.code or 500)
    if kind is None:
        return _of_ours(error)
    if isinstance(error, WrongMethod):
        methods = ", ".join(sorted(error.valid_methods or ()))
        detail = f"{request.path} takes {methods}."
        return answer(MethodNotAllowed(detail, headers={"Allow": methods}))
    if kind is NotFound:
        return answer(NotFound("Nothing has this address. /v1 links to everything."))
    return answer(kind(f"{kind.title}."))


def _of_ours(error: Exception) -> Response:
    current_app.logger.error("request %s failed", g.get("request_id"), exc_info=error)
    return answer(Internal("The fault is ours. `instance` names this request in the log."))
