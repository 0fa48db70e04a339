"""When the faces of two coupled sections stay flush."""

import pytest

from baywright_plugins.fit_remedies.coupling import stay_flush
from baywright_plugins.fit_remedies.rows import KEPT, Row, RowEdit

PITCH = {"A": 120_000, "B": 85_000}


def edit(*segments: str) -> RowEdit:
    return RowEdit(KEPT, tuple(map(tuple, segments)), ())


def row(text: str) -> Row:
    return tuple(text)


@pytest.mark.parametrize(
    ("before", "after", "offset_um", "flush"),
    [
        (("AAAAAA", "AAAAAA"), (["AAAAA"], ["AAAAA"]), 0, True),
        (("AAAAAA", "AAAAAA"), (["AAAAA"], ["AAAAAA"]), 0, False),
        (("AAAAAA", "AAAA"), (["AAAAA"], ["AAAA"]), 0, True),  # the lower one lies within still
        (("AAAAAA", "AAAA"), (["AAAAAA"], ["AABA"]), 0, False),  # off the taller one's planes
        (("AAAAAA", "AAAA"), (["AAAA"], ["AAAA"]), 0, True),  # flush at both ends now
        (("AAAA", "AAAA"), (["AABA"], ["AABA"]), 0, True),
        (("AAAA", "AAAA"), (["BAAA"], ["ABAA"]), 0, False),  # same length, other corner bays
        (("AAAA", "AAAA"), (["AA", "AA"], ["AA", "AA"]), 0, True),
        (("AAAA", "AAAA"), (["AA", "AA"], ["A", "AAA"]), 0, False),  # cut at another plane
        (("AAAA", "AAAA"), (["AA", "AA"], ["AAAA"]), 0, False),  # one cut, the other whole
        (("AAAAAA", "AA"), (["AAAAAA"], ["AA"]), 240_000, True),  # in the middle of the other
        (("AAAAAA", "AA"), (["ABAAAA"], ["AA"]), 240_000, False),
        (("AAAAB", "AAAA"), (["AAAAB"], ["AAAA"]), 0, True),  # nothing is done
    ],
)
def test_flush(
    before: tuple[str, str], after: tuple[list[str], list[str]], offset_um: int, flush: bool
) -> None:
    """Ends that were flush are so still, and what lay within the other does so too."""
    found = stay_flush(
        (row(before[0]), row(before[1])), (edit(*after[0]), edit(*after[1])), offset_um, PITCH
    )
    assert found is flush
