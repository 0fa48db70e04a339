"""Answers remembered by their content: the same bytes, less work, and never too much kept."""

import json
import os
import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from baywright_service import computed
from baywright_service.computed import Computed
from baywright_service.contract import Calculator, DocumentUse
from baywright_service.problems import CannotCalculate, Internal
from tests.service.fakes import Span, Weigh


class Counting:
    """Computes an envelope of `size` bytes, and counts."""

    def __init__(self, size: int = 100, error: Exception | None = None) -> None:
        self.calls, self._size, self._error = 0, size, error

    def __call__(self, calculator: Calculator, body: Mapping[str, Any]) -> bytes:
        self.calls += 1
        if self._error:
            raise self._error
        filling = "x" * self._size
        return json.dumps({"result": body, "filling": filling, "documents": []}).encode()


@pytest.fixture(autouse=True)
def worth_keeping(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every answer is worth a place in the file."""
    monkeypatch.setattr(computed, "WORTH_S", 0.0)


@pytest.fixture
def path(tmp_path: Path) -> str:
    """A file that is not there yet."""
    return str(tmp_path / "computed.sqlite3")


def test_equal_inputs_are_computed_once() -> None:
    kept, count = Computed("", 16), Counting()
    answers = [kept.envelope(Span(), {"bays": n}, (), count) for n in (1, 2, 1, 1)]
    assert count.calls == 2 and answers[0] == answers[2] == answers[3] != answers[1]


def test_documents_are_those_of_the_request() -> None:
    kept, count = Computed("", 16), Counting()
    use = DocumentUse("kit", "mine", "sha256-1")
    plain, named = (kept.envelope(Span(), {}, uses, count) for uses in ((), (use,)))
    assert plain["documents"] == [] and count.calls == 1
    assert named["documents"] == [{"kind": "kit", "id": "mine", "revision": "sha256-1"}]
    assert list(plain) == list(named)


def test_another_version_or_calculator_is_another_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    kept, count = Computed("", 16), Counting()
    kept.envelope(Span(), {}, (), count)
    kept.envelope(Weigh(), {}, (), count)
    monkeypatch.setattr(Span, "version", "1.0.1")
    kept.envelope(Span(), {}, (), count)
    assert count.calls == 3


def test_the_file_outlives_the_process(path: str) -> None:
    kept, count = Computed(path, 16), Counting()
    first = kept.envelope(Span(), {"bays": 1}, (), count)
    kept.close()
    again = Computed(path, 16)
    assert again.envelope(Span(), {"bays": 1}, (), count) == first and count.calls == 1
    again.close()


def test_what_is_quick_to_calculate_does_not_go_to_the_file(
    path: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(computed, "WORTH_S", 1000.0)
    kept = Computed(path, 16)
    kept.envelope(Span(), {}, (), Counting())
    kept.close()
    assert not os.path.exists(path)


def test_refusals_are_remembered_in_memory_only(path: str) -> None:
    kept, count = Computed(path, 16), Counting(error=CannotCalculate("No."))
    for _ in range(3):
        with pytest.raises(CannotCalculate, match="No."):
            kept.envelope(Span(), {}, (), count)
    assert count.calls == 1
    kept.close()
    with pytest.raises(CannotCalculate):
        Computed(path, 16).envelope(Span(), {}, (), count)
    assert count.calls == 2


def test_faults_of_ours_are_not_remembered() -> None:
    kept, count = Computed("", 16), Counting(error=Internal("Oh."))
    for _ in range(2):
        with pytest.raises(Internal):
            kept.envelope(Span(), {}, (), count)
    assert count.calls == 2


def test_both_memory_and_file_are_bounded_and_keep_what_was_used_last(path: str) -> None:
    kept, count = Computed(path, 2), Counting(size=50_000)
    for n in range(100):
        kept.envelope(Span(), {"bays": n}, (), count)
        kept.envelope(Span(), {"bays": 0}, (), count)  # in use all the time
        kept.flush()
    held = sum(size for _, size in kept._memory.values())
    assert held <= 2 * 2**20 / 32 and count.calls == 100
    kept.close()
    assert os.path.getsize(path) < 3 * 2**20
    again = Computed(path, 2)
    for n in (0, 99, 98):
        again.envelope(Span(), {"bays": n}, (), count)
    assert count.calls == 100
    again.envelope(Span(), {"bays": 1}, (), count)
    assert count.calls == 101
    again.close()


def test_nothing_is_kept_where_nothing_may_be(path: str) -> None:
    kept, count = Computed(path, 0), Counting()
    for _ in range(2):
        kept.envelope(Span(), {}, (), count)
    kept.close()
    assert count.calls == 2 and not os.path.exists(path)


def test_a_broken_file_is_begun_anew(path: str) -> None:
    Path(path).write_bytes(b"no database at all" * 500)
    kept, count = Computed(path, 16), Counting()
    kept.envelope(Span(), {"bays": 1}, (), count)
    kept.envelope(Span(), {"bays": 2}, (), count)
    kept.close()
    with sqlite3.connect(path) as connection:
        assert connection.execute("SELECT count(*) FROM answer").fetchone()[0] >= 1
    connection.close()


def test_a_folder_that_is_not_there_costs_nothing_but_the_file(tmp_path: Path) -> None:
    kept, count = Computed(str(tmp_path / "nowhere" / "c.sqlite3"), 16), Counting()
    for _ in range(2):
        kept.envelope(Span(), {}, (), count)
    kept.close()
    assert count.calls == 1


def test_two_processes_share_the_file(path: str) -> None:
    one, other, count = Computed(path, 16), Computed(path, 16), Counting()
    one.envelope(Span(), {"bays": 1}, (), count)
    one.flush()
    other.envelope(Span(), {"bays": 1}, (), count)
    other.envelope(Span(), {"bays": 2}, (), count)
    other.flush()
    one.envelope(Span(), {"bays": 2}, (), count)
    assert count.calls == 2
    one.close()
    other.close()
