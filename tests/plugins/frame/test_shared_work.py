"""Work shared between variants: the same answers, within bounds, from any thread."""

import copy
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.frame.layouts import frame_of_layout
from baywright_plugins.frame.shared_work import (
    Shared,
    forget_shared_work,
    key_of,
    shared_bytes,
    unchangeable,
)
from baywright_plugins.kit import Kit
from baywright_plugins.truss_check import TrussCheck
from baywright_service.envelope import computed

CHECK = TrussCheck()
BODIES = [example.inputs for example in CHECK.examples if "frame" in example.inputs]
LAYOUTS = [body for body in BODIES if "layout" in body["frame"]]
#: What all of them together may keep: the sum of their own limits.
MOST_BYTES = 72 * 2**20


def answer(body: Any) -> bytes:
    """The bytes of one answer, or the words of its refusal."""
    try:
        return computed(CHECK, body)
    except Exception as refusal:
        return str(refusal).encode()


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body["frame"].get("title", ""))
def test_an_example_answers_the_same_alone_and_again(body: Any) -> None:
    forget_shared_work()
    alone = answer(body)
    assert shared_bytes() > 0
    assert answer(body) == alone


def varied(body: Any, what: str, factor: float) -> Any:
    """A variant: another weight, mass, stiffness, strength or rod pitch."""
    other = copy.deepcopy(body)
    hub, section = other["kit"]["hubs"][0], other["frame"]["layout"]["sections"][0]
    if what == "gravity":
        other["gravity_m_s2"] = 9.8 * factor
    elif what == "mass":
        section["fittings"] = [{"title": "a box", "mass_kg": factor, "levels": [0]}]
    elif what == "stiffness":
        hub["seat_stiffness_n_per_mm"] = 400.0 * factor
    elif what == "modulus":
        for rod in other["kit"]["rods"]:
            rod["modulus_n_per_mm2"] = 11000.0 * factor
    elif what == "strength":
        hub["compression_n"] = 300.0 * factor
    elif what == "play":
        hub["seat_play_mm"] = 0.2 * factor
    else:
        for rod in other["kit"]["rods"]:
            rod["pitch_mm"] *= factor
    return other


@settings(max_examples=8, deadline=None, derandomize=True)
@given(
    what=st.sampled_from(["gravity", "mass", "stiffness", "modulus", "strength", "play", "pitch"]),
    factor=st.floats(0.9, 1.1),
)
def test_a_variant_answers_the_same_after_others_and_alone(what: str, factor: float) -> None:
    body = min(LAYOUTS, key=lambda each: len(str(each["frame"])))
    answer(body)
    after_others = answer(varied(body, what, factor))
    forget_shared_work()
    assert answer(varied(body, what, factor)) == after_others


def test_frames_share_bars_but_not_titles_and_fittings() -> None:
    body = CHECK.load(LAYOUTS[0])
    layout, kit = body["frame"]["layout"], Kit.from_inputs(body["kit"])
    other = copy.deepcopy(layout)
    other["sections"][0]["title"] = "another"
    other["sections"][0]["fittings"] = [{"title": "a box", "mass_kg": 2.5, "levels": [0]}]
    one, two = frame_of_layout(layout, kit), frame_of_layout(other, kit)
    assert one.start is two.start
    assert two.sections[0].title == "another"
    assert two.sections[0].fittings == (("a box", 2.5, (0,)),)
    assert one.sections[0].title == layout["sections"][0]["title"]
    with pytest.raises(ValueError, match="read-only"):
        one.nodes_mm[0] = 0.0


def test_what_is_kept_is_bounded_and_what_was_used_last_stays() -> None:
    kept: Shared[np.ndarray[Any, Any]] = Shared(limit_mib=1)
    first = kept.of(b"first", lambda: np.zeros(10_000), unchangeable)
    for number in range(200):
        kept.of(b"%d" % number, lambda: np.zeros(10_000), unchangeable)
        assert kept.of(b"first", lambda: np.ones(1), unchangeable) is first
        assert kept.held_bytes <= 2**20
    assert kept.of(b"0", lambda: np.ones(1), unchangeable).size == 1  # forgotten long ago


def test_what_is_larger_than_the_limit_is_given_and_not_kept() -> None:
    kept: Shared[np.ndarray[Any, Any]] = Shared(limit_mib=1)
    kept.of(b"small", lambda: np.zeros(100), unchangeable)
    before = kept.held_bytes
    assert kept.of(b"large", lambda: np.zeros(10**6), unchangeable).size == 10**6
    assert kept.held_bytes == before > 0


def test_a_failure_is_not_kept() -> None:
    kept: Shared[int] = Shared(limit_mib=1)

    def fails() -> int:
        raise ArithmeticError("no number")

    with pytest.raises(ArithmeticError):
        kept.of(b"key", fails, lambda _: 8)
    assert kept.of(b"key", lambda: 7, lambda _: 8) == 7


def test_from_many_threads() -> None:
    kept: Shared[int] = Shared(limit_mib=0.01)
    with ThreadPoolExecutor(8) as pool:
        found = list(
            pool.map(lambda k: kept.of(b"%d" % (k % 13), lambda: k % 13, lambda _: 8), range(5000))
        )
    assert found == [k % 13 for k in range(5000)]
    assert 0 < kept.held_bytes <= 0.01 * 2**20


def test_all_variants_together_stay_within_their_bound() -> None:
    body = min(LAYOUTS, key=lambda each: len(str(each["frame"])))
    for number in range(4):
        answer(varied(body, "pitch", 1 + number / 100))
    assert shared_bytes() <= MOST_BYTES


def test_keys_tell_shapes_types_and_the_bounds_of_parts() -> None:
    row = np.arange(4.0)
    keys = [
        key_of(row), key_of(row.reshape(2, 2)), key_of(row.view(np.int64)), key_of(row, b""),
        key_of(b"ab", b"c"), key_of(b"a", b"bc"),
    ]  # fmt: skip
    assert len(set(keys)) == len(keys)
    assert key_of(np.arange(8.0)[::2]) == key_of(np.arange(0.0, 8.0, 2.0))
