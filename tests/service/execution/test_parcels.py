"""Calls and replies as bytes."""

from typing import Any

import pytest

from baywright_service.execution import failures, parcels
from baywright_service.execution.failures import NotPortable
from baywright_service.execution.futures import RaisedElsewhere
from baywright_service.problems import Problem, problem_types
from tests.service.execution import jobs


def there_and_back(*call: Any) -> Any:
    """What a call gives when it travels as bytes both ways."""
    function, *arguments = call
    return parcels.opened(
        parcels.carried_out(parcels.unpack(parcels.pack(function, (*arguments,))))
    )


def test_a_value_arrives() -> None:
    assert there_and_back(jobs.add, 2, 3) == 5


@pytest.mark.parametrize("kind", problem_types(), ids=lambda kind: kind.type)
def test_every_problem_arrives_whole(kind: type[Problem]) -> None:
    errors = [{"pointer": "/rods/0", "code": "out-of-range", "detail": "Too long.", "maximum": 9}]
    sent = kind("It is so.", errors, {"limit_s": 1.5}, {"Retry-After": "5"})
    with pytest.raises(kind) as caught:
        there_and_back(jobs.raises, sent)
    assert type(caught.value) is kind
    assert caught.value.body("urn:uuid:1") == sent.body("urn:uuid:1")
    assert (str(caught.value), caught.value.headers) == (str(sent), sent.headers)
    assert not hasattr(caught.value, "__notes__")


@pytest.mark.parametrize(
    "kind",
    [kind for kind in vars(failures).values() if isinstance(kind, type)],
    ids=lambda kind: kind.__name__,
)
def test_every_failure_arrives(kind: type[failures.Failure]) -> None:
    with pytest.raises(kind) as caught:
        parcels.opened(parcels.failed(kind(512)))
    assert type(caught.value) is kind and caught.value.args == (512,)


def test_a_fault_brings_its_traceback_as_a_note() -> None:
    with pytest.raises(ZeroDivisionError) as caught:
        there_and_back(jobs.raises, ZeroDivisionError("by none"))
    assert caught.value.args == ("by none",)
    assert "in raises\n    raise error" in caught.value.__notes__[0]


def test_an_exception_that_cannot_be_unpacked_is_told_in_words() -> None:
    with pytest.raises(RaisedElsewhere, match="TwoWords: left right"):
        there_and_back(jobs.raises_two_words)


def test_leaving_the_program_ends_the_run_only() -> None:
    with pytest.raises(RaisedElsewhere, match="SystemExit: 3"):
        there_and_back(jobs.leaves)


def test_what_cannot_be_imported_by_name_cannot_be_sent() -> None:
    with pytest.raises(NotPortable, match="imported by name"):
        parcels.pack(lambda: 1, ())


def test_a_value_that_cannot_travel_is_a_fault_of_the_run() -> None:
    with pytest.raises(TypeError, match="cannot pickle"):
        there_and_back(jobs.lock)


def test_what_the_worker_cannot_import_is_said() -> None:
    parcel = parcels.pack(jobs.add, (1, 2)).replace(b"jobs", b"gone")
    with pytest.raises(NotPortable, match="same versions"):
        parcels.unpack(parcel)
    with pytest.raises(NotPortable, match="cannot be read"):
        parcels.opened(b"nonsense")
