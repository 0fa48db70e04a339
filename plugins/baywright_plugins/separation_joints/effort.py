"""How much work a section takes, so that no request runs for long: rough, but always the same."""

from ..frame import Frame

#: Work of one run on which sections are told apart (about four seconds on one slow core).
MOST_WORK = 1.5e9
#: Work that proving remedies may take, and that trying cuts may take.
MOST_PROOF_WORK = 1.2e9
MOST_CUT_WORK = 1.0e9
#: Runs that prove remedies, at most and in any case.
MOST_PROOFS, LEAST_PROOFS = 12, 1
#: Hubs of the largest frame given by members, and bays and cells of the largest layout.
MOST_HUBS = 2500
MOST_BAYS = 2500
MOST_CELLS = 2_000_000


def work_of(hubs: int, mechanisms: int) -> float:
    """Multiplications that a section of so many hubs and mechanisms takes, in all: its frame, and
    its mechanisms kept clear of one another.

    >>> work_of(300, 0) < work_of(300, 100)
    True
    """
    return 3.0 * hubs * (mechanisms + 12) ** 2 + 5e4 * hubs


def guessed_mechanisms(part: Frame) -> int:
    """At least about how many mechanisms a section has: its outer faces without a diagonal, and
    what Maxwell's rule leaves."""
    bare = sum(face.kind == "side" and face.diagonals == 0 for face in part.faces)
    return max(bare, 3 * len(part.nodes_mm) - 6 - len(part.start), 0)


def proofs_allowed(work: float) -> int:
    """How many runs of so much work may prove remedies.

    >>> proofs_allowed(1e8), proofs_allowed(1e10)
    (12, 1)
    """
    return int(min(MOST_PROOFS, max(LEAST_PROOFS, MOST_PROOF_WORK // work)))
