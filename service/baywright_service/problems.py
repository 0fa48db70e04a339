"""Problem details (RFC 9457): every answer that is not the one asked for.

    Problem                                               answered with
    + Unreadable            malformed-json, -encoding     400  nothing could be read
    + InvalidParameter      invalid-parameter             400  a query parameter or header
    + Unauthenticated       unauthenticated               401
    + CrossSite             cross-site                    403  a write sent by a foreign page
    + NotFound              not-found                     404
    + MethodNotAllowed      method-not-allowed            405  with Allow
    + NotAcceptable         not-acceptable                406  lists what is available
    + IdempotencyKeyReused  idempotency-key-reused        409  the key stands for another request
    + BatchNotFinished      batch-not-finished            409  a table would be cut short
    + Expired               expired                       410  its time of keeping has passed
    + PreconditionFailed    precondition-failed           412  somebody else wrote first
    + BodyTooLarge          body-too-large                413
    + UriTooLong            uri-too-long                  414
    + UnsupportedMediaType  unsupported-media-type        415
    + WrongHost             wrong-host                    421
    + InvalidInput          invalid-input                 422  read, but breaks a published rule
      + PlanNotValid        plan-not-valid                422  the same, of a plan
    + CannotCalculate       cannot-calculate              422  valid, but no honest number exists
    + TooLong               calculation-limit             422  the calculation was given up
    + PreconditionRequired  precondition-required         428
    + TooManyRequests       too-many-requests             429  as many batches or streams as may be
    + HeadersTooLarge       headers-too-large             431
    + Internal              internal                      500  ours; the log has the request id
    + StorageUnavailable    storage-unavailable           503
    + ClusterUnreachable    cluster-unreachable           503
    + Stopping              stopping                      503

A problem is raised anywhere and becomes an answer in `routes/failures.py` only.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, ClassVar

from .contract import Fault

MOST_ERRORS = 100

Error = dict[str, Any]


class Problem(Exception):
    """One way a request can fail. `errors` hold a pointer, parameter or header each."""

    type: ClassVar[str] = ""
    status: ClassVar[int]
    title: ClassVar[str]
    #: What it means, and what to do about it.
    meaning: ClassVar[str]

    def __init__(
        self,
        detail: str,
        errors: Sequence[Error] = (),
        members: Mapping[str, Any] | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.detail, self.errors = detail, tuple(errors)
        self.members, self.headers = dict(members or {}), dict(headers or {})

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.detail, self.errors, self.members, self.headers)

    def body(self, instance: str = "") -> dict[str, Any]:
        """The members of the answer; `instance` names the request in the log."""
        body: dict[str, Any] = {
            "type": f"/v1/problems/{self.type}",
            "title": self.title,
            "status": self.status,
            "detail": self.detail,
        }
        if instance:
            body["instance"] = instance
        body.update(self.members)
        if self.errors:
            body["errors_total"] = len(self.errors)
            body["errors"] = list(self.errors[:MOST_ERRORS])
        return body


class Unreadable(Problem):
    """Nothing could be read: the two types of it follow."""

    status = 400


class MalformedJson(Unreadable):
    type = "malformed-json"
    title = "The body is not JSON that can be read"
    meaning = (
        "The body must be one JSON object in UTF-8 as RFC 8259 writes it: no NaN or Infinity, no "
        "number beyond a double, no whole number beyond 2^53 - 1, no name twice in one object, no "
        "half surrogate pair, no NUL, and nothing after its end. Correct the text and send it "
        "again."
    )


class MalformedEncoding(Unreadable):
    type = "malformed-encoding"
    title = "The body cannot be unpacked"
    meaning = "Content-Encoding says gzip, but the body is not one whole gzip stream. Pack it anew."


class InvalidParameter(Problem):
    type = "invalid-parameter"
    status = 400
    title = "A query parameter or header is not valid"
    meaning = (
        "A name in the query that this resource does not know, a value it cannot read, or a header "
        "whose value has no meaning here. `errors` names each one."
    )


class Unauthenticated(Problem):
    type = "unauthenticated"
    status = 401
    title = "A token is needed"
    meaning = "This service was started with a token. Send it as `Authorization: Bearer <token>`."


class CrossSite(Problem):
    type = "cross-site"
    status = 403
    title = "A page of another site may not write here"
    meaning = (
        "The request carries an Origin or Sec-Fetch-Site of another site. Send it from a page of "
        "this service, or from a program that sends neither header."
    )


class NotFound(Problem):
    type = "not-found"
    status = 404
    title = "Nothing is here"
    meaning = "No resource, calculator or stored document has this address. /v1 links to all."


class MethodNotAllowed(Problem):
    type = "method-not-allowed"
    status = 405
    title = "This resource does not take that method"
    meaning = "The Allow header lists the methods that this resource takes."


class NotAcceptable(Problem):
    type = "not-acceptable"
    status = 406
    title = "None of the forms asked for exists"
    meaning = (
        "`available` lists the media types of this resource. Name one of them in Accept, or add "
        "?format=json, svg or csv."
    )


class IdempotencyKeyReused(Problem):
    type = "idempotency-key-reused"
    status = 409
    title = "This Idempotency-Key stands for another request"
    meaning = (
        "A batch was made with this key and another body; `batch` names it. Send the same body to "
        "get the same answer again, or another key to make another batch."
    )


class BatchNotFinished(Problem):
    type = "batch-not-finished"
    status = 409
    title = "The batch has not finished"
    meaning = (
        "A table of it would be cut short and could pass for a whole one. Wait for Retry-After "
        "seconds, or ask with partial=true for what there is so far."
    )


class Expired(Problem):
    type = "expired"
    status = 410
    title = "It was kept for its time, and is gone"
    meaning = (
        "Batches are kept for some days after their end (`limits` at /v1 say how many). Send the "
        "request again to have it calculated again."
    )


class PreconditionFailed(Problem):
    type = "precondition-failed"
    status = 412
    title = "The document is not as you expect it"
    meaning = (
        "If-Match names a revision that is no longer the current one, or If-None-Match: * was sent "
        "and the document exists. Read it again (its current ETag is in this answer), bring your "
        "change in, and send it with the new ETag."
    )


class BodyTooLarge(Problem):
    type = "body-too-large"
    status = 413
    title = "The body is too large"
    meaning = "The limit in bytes, unpacked, stands in `limit` and at /v1. Send less at once."


class UriTooLong(Problem):
    type = "uri-too-long"
    status = 414
    title = "The address is too long"
    meaning = "Path and query together may not pass the limit published at /v1."


class UnsupportedMediaType(Problem):
    type = "unsupported-media-type"
    status = 415
    title = "The body has a type that is not read here"
    meaning = (
        "Send `Content-Type: application/json` (for PATCH application/merge-patch+json), in UTF-8, "
        "plain or with `Content-Encoding: gzip`."
    )


class WrongHost(Problem):
    type = "wrong-host"
    status = 421
    title = "This service does not answer to that name"
    meaning = (
        "The Host header names a machine this service does not know itself by. Its operator can "
        "add the name to BAYWRIGHT_ALLOWED_HOSTS."
    )


class InvalidInput(Problem):
    type = "invalid-input"
    status = 422
    title = "Some fields are not valid"
    meaning = (
        "The body was read, but breaks a rule of the published schema. `errors` lists every fault, "
        "each with a JSON Pointer into the body and a code."
    )


class PlanNotValid(InvalidInput):
    type = "plan-not-valid"
    title = "The plan does not hold together"
    meaning = (
        "Nothing was run. `errors` lists every fault: ids used twice, unknown calculators, "
        "references that point nowhere, run in a circle, or join different units."
    )


class CannotCalculate(Problem):
    type = "cannot-calculate"
    status = 422
    title = "No number can be trusted for these inputs"
    meaning = (
        "The inputs are valid, but the calculation has no answer for them that would be honest. "
        "`errors` names the place and the reason."
    )


class TooLong(Problem):
    type = "calculation-limit"
    status = 422
    title = "The calculation passed a limit"
    meaning = (
        "It was given up after `limit_s` seconds, or at `limit_mib` MiB of memory. Ask for less at "
        "once, or raise the limit: BAYWRIGHT_CALCULATION_LIMIT_S, BAYWRIGHT_MEMORY_LIMIT_MIB."
    )


class PreconditionRequired(Problem):
    type = "precondition-required"
    status = 428
    title = "Say which revision you mean"
    meaning = (
        "Send `If-None-Match: *` to create a document, or `If-Match` with the ETag you last read "
        "to replace, change or delete it, so that nobody's work is lost."
    )


class TooManyRequests(Problem):
    type = "too-many-requests"
    status = 429
    title = "As many of these are under way as may be"
    meaning = (
        "As many batches wait, or as many event streams are open, as the limits at /v1 allow. Try "
        "again after Retry-After seconds. A batch can be followed without a stream: GET it with "
        "`Prefer: wait=20`."
    )


class HeadersTooLarge(Problem):
    type = "headers-too-large"
    status = 431
    title = "The headers are too large"
    meaning = "All headers together may not pass the limit published at /v1."


class Internal(Problem):
    type = "internal"
    status = 500
    title = "The service made a mistake"
    meaning = "The fault is ours. `instance` names the request in the service's log."


class StorageUnavailable(Problem):
    type = "storage-unavailable"
    status = 503
    title = "Stored documents cannot be reached"
    meaning = (
        "The file that holds them cannot be read or written just now. Wait for Retry-After "
        "seconds; documents given inline still work."
    )


class ClusterUnreachable(Problem):
    type = "cluster-unreachable"
    status = 503
    title = "The machines that calculate cannot be reached"
    meaning = (
        "This service calculates on a cluster whose scheduler or workers do not answer. Wait for "
        "Retry-After seconds; what is stored can be read meanwhile."
    )


class Stopping(Problem):
    type = "stopping"
    status = 503
    title = "The service is stopping"
    meaning = "It takes no more calculations. Send the request again when it has started anew."


def problem_types() -> list[type[Problem]]:
    """Every published type, sorted by status and name."""
    return sorted(
        (kind for kind in _below(Problem) if kind.type), key=lambda kind: (kind.status, kind.type)
    )


def _below(kind: type[Problem]) -> Iterator[type[Problem]]:
    for inner in kind.__subclasses__():
        yield inner
        yield from _below(inner)


def errors_from(faults: Sequence[tuple[str, Fault]], prefix: str = "") -> list[Error]:
    """Faults of a schema as members of `errors`; `prefix` is put before each pointer."""
    return [
        {"pointer": prefix + pointer, "code": fault.code, "detail": str(fault), **fault.extra}
        for pointer, fault in faults
    ]


def count_of_faults(errors: Sequence[Error]) -> str:
    """One sentence for `detail`."""
    return "1 fault." if len(errors) == 1 else f"{len(errors)} faults."


def invalid_input(errors: Sequence[Error]) -> InvalidInput:
    """All faults of one body."""
    return InvalidInput(count_of_faults(errors), errors)


def invalid_parameter(name: str, detail: str, *, where: str = "parameter") -> InvalidParameter:
    """One fault outside the body; `where` is parameter or header."""
    return InvalidParameter(detail, [{where: name, "code": "wrong-format", "detail": detail}])
