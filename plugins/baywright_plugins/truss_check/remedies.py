"""Remedies as merge patches, each proven by a run of the patched inputs."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from baywright_service.contract import Remedy, Result

from ..kit import Kit
from .equilibrium import equilibrium_matrix
from .findings import joined
from .frame_check import SectionAnswer
from .handling import DROP, LEANING, THRESHOLD, Handling
from .mend import second_diagonals
from .places import grid_pair
from .stability import Stability

#: Above this many members in a section no search is made.
MOST_MEMBERS = 5000

Rerun = Callable[[Mapping[str, Any]], Result | None]
Json = dict[str, Any]


def brace_mechanisms(
    answer: SectionAnswer, inputs: Mapping[str, Any], rerun: Rerun
) -> Remedy | None:
    """The missing diagonals of a section that folds; the patch only if the section stands then."""
    if not answer.culprits:
        return None
    pairs = [culprit.pair for culprit in answer.culprits]
    listed = [
        f"{ends[0]}-{ends[1]} ({culprit.words})"
        for culprit in answer.culprits[:6]
        for ends in [grid_pair(answer.prepared.model.part, culprit.pair)]
    ]
    more = f" and {len(pairs) - 6} more" if len(pairs) > 6 else ""
    message = f"Add {len(pairs)} diagonal{'s' if len(pairs) > 1 else ''}: {joined(listed)}{more}."
    patch = _patch(answer, inputs, pairs)
    proof = rerun({**patch, **_quick(answer)})
    stands = proof is not None and _section(proof)["stability"]["mechanisms"] == 0
    return Remedy(message, patch if stands else None)


def brace_slips(
    answer: SectionAnswer, inputs: Mapping[str, Any], kit: Kit, handling: Handling, rerun: Rerun
) -> Remedy | None:
    """Second diagonals near the worst bars, where some case falls short of its factor."""
    held = [s for s in answer.states if not s.case.topic]
    short = [s for s in held if s.factor < handling.required(s.case.kind)]
    part = answer.prepared.model.part
    if not short or not part.has_grid or len(part.start) > MOST_MEMBERS:
        return None
    mended = second_diagonals(
        answer.prepared.model, held, handling, kit,
        gravity_m_s2=inputs["gravity_m_s2"], buckling_margin=inputs["buckling_margin_ratio"],
    )  # fmt: skip
    planned = [s for s in mended.states if s.case.kind == "planned"]
    worst = min(planned or list(mended.states), key=lambda s: s.factor)
    if not mended.pairs or not mended.reaches:
        return Remedy(
            "A greedy search for second diagonals did not reach the wanted factors: hold the "
            "section at more hubs, or make it lighter."
        )
    patch = _patch(answer, inputs, mended.pairs)
    proof = rerun({**patch, **_quick(answer)})
    if proof is None or not _reaches(proof):
        return None
    of = f" to each of {joined([answer.prepared.id, *answer.twins])}" if answer.twins else ""
    return Remedy(
        f"Add {len(mended.pairs)} second diagonals{of}: then {worst.case.title} is the weakest "
        f"planned case with {worst.factor:.2f}. Found step by step, so fewer may do.",
        patch,
    )


def _reaches(proof: Result) -> bool:
    section = _section(proof)
    return bool(section["cases"]) and all(
        case.get("first_slip_factor", np.inf) >= case["required_factor"]
        for case in section["cases"]
    )


def _section(proof: Result) -> Json:
    found: Json = proof.value["sections"][0]
    return found


def _quick(answer: SectionAnswer) -> Json:
    """Narrows the proof to this section and to what it must show."""
    narrow = {"sections": [answer.prepared.id], "seek_remedies": False, "analyses": ["linear"]}
    apart = {"travel": {topic: None for topic in (DROP, THRESHOLD, LEANING)}}
    return {**narrow, **apart, "picture": None}


def _patch(
    answer: SectionAnswer, inputs: Mapping[str, Any], pairs: Sequence[tuple[int, int]]
) -> Json:
    part = answer.prepared.model.part
    new = [grid_pair(part, pair) for pair in pairs]
    given = inputs["added_diagonals"]
    return {
        "added_diagonals": {
            name: [[[int(x) for x in end] for end in pair] for pair in given.get(name, ())] + new
            for name in (answer.prepared.id, *answer.twins)
        }
    }


def join_nodes(
    held: Stability, inputs: Mapping[str, Any], rerun: Rerun, *, most: int = 24
) -> Remedy | None:
    """Members that would take away the mechanisms of a structure: pairs of nodes two members
    apart, the one that the mechanisms stretch most first."""
    truss = held.truss
    if not held.mechanisms or held.mechanisms > most or held.members > 3000:
        return None
    pairs = _near_pairs(truss.start, truss.end, len(truss.nodes_mm))
    if not len(pairs):
        return None
    away = truss.nodes_mm[pairs[:, 1]] - truss.nodes_mm[pairs[:, 0]]
    length = np.linalg.norm(away, axis=1)
    keep = length > 0
    pairs, unit = pairs[keep], away[keep] / length[keep, None]
    columns = equilibrium_matrix(pairs[:, 0], pairs[:, 1], unit, len(truss.nodes_mm))
    left = held.modes.reshape(held.mechanisms, truss.nodes_mm.size)
    chosen: list[list[int]] = []
    while len(left):
        projected = np.asarray(columns.T @ left.T).T
        size = np.sqrt((projected**2).sum(axis=0))
        best = int(size.argmax())
        if size[best] < 1e-7:
            return None
        chosen.append([int(node) for node in pairs[best]])
        turn = projected[:, best] / size[best]
        left = np.linalg.svd(turn[None, :], full_matrices=True)[2][1:] @ left
    members = inputs["structure"]["members"]
    ends = np.array(chosen).T
    new: Json = {
        "start": [*members["start"].tolist(), *ends[0].tolist()],
        "end": [*members["end"].tolist(), *ends[1].tolist()],
    }
    for name, column in members.items():
        if name not in new:
            new[name] = [*column.tolist(), *[float(np.median(column))] * len(chosen)]
    patch = {"structure": {"members": new}}
    proof = rerun({**patch, "seek_remedies": False, "analyses": ["linear"], "picture": None})
    stands = proof is not None and proof.value["stability"]["mechanisms"] == 0
    listed = joined([f"{a}-{b}" for a, b in chosen])
    return Remedy(
        f"Add {len(chosen)} member{'s' if len(chosen) > 1 else ''} between nodes {listed}.",
        patch if stands else None,
    )


def _near_pairs(start: Any, end: Any, nodes: int) -> Any:
    beside: list[set[int]] = [set() for _ in range(nodes)]
    for a, b in zip(start.tolist(), end.tolist(), strict=True):
        beside[a].add(b)
        beside[b].add(a)
    pairs = {
        (a, c)
        for a in range(nodes)
        for b in beside[a]
        for c in beside[b]
        if a < c and c not in beside[a]
    }
    return np.array(sorted(pairs), dtype=np.int64).reshape(-1, 2)
