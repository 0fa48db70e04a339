"""Natural frequencies of the standing machine and its sections, and what comes near them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from baywright_service.contract import Fault, Finding, InvalidInputs, Measure, Remedy, Result

from ..frame import frame_of
from ..kit import Kit
from .eigen import Modes
from .findings import joined
from .frame_check import SectionAnswer
from .frequencies import Closeness, NoStanding, closeness, lift_frequencies_hz, standing
from .machine import NotCoupled, machine

Json = dict[str, Any]
Rerun = Callable[[Mapping[str, Any]], Result | None]

#: Modes are looked for until the highest lies so far above every source.
REACH = 1.3
MOST_MODES = 20
#: Other rates that are proven by a run before none is suggested.
MOST_TRIES = 3


@dataclass(frozen=True)
class Shaken:
    """One section, or the machine: its modes and what comes near; twins by name."""

    name: str
    value: Json
    modes: Modes
    near: tuple[Closeness, ...]


@dataclass(frozen=True)
class Vibration:
    """Sections by their place among the answers, and the machine where there is one."""

    sections: Mapping[int, Shaken]
    machine: Shaken | None
    left_out: tuple[str, ...] = ()

    @property
    def all(self) -> list[Shaken]:
        """Every one, sections first."""
        return [*self.sections.values(), *([] if self.machine is None else [self.machine])]


def sources_hz(given: Mapping[str, Any]) -> dict[str, float]:
    """What shakes, by name, from a validated ExcitationSchema."""
    found: dict[str, float] = {}
    if "hooks_per_min" in given:
        links = given.get("links_per_hook_count")
        lift = lift_frequencies_hz(
            given["hooks_per_min"], links or 1.0, teeth=given.get("teeth_count")
        )
        found = {name: f for name, f in lift.items() if links is not None or name == "hook"}
    return {**found, **given.get("sources_hz", {})}


def vibration(
    answers: Sequence[SectionAnswer], inputs: Mapping[str, Any], kit: Kit
) -> Vibration | None:
    """Where the analysis vibration or an excitation is asked for; twins once.

    Raises ArithmeticError where eigenvalues do not converge.
    """
    given = inputs.get("excitation")
    if given is None and "vibration" not in inputs.get("analyses", ()):
        return None
    sources = {} if given is None else sources_hz(given)
    wanted = 0.2 if given is None else given["apart_ratio"]
    count = inputs["mode_count"]
    lifts = _sections(inputs, answers)
    sections: dict[int, Shaken] = {}
    left_out = []
    firm = [answer for answer in answers if not answer.held.mechanisms]
    for place, answer in enumerate(answers):
        if answer.same_as is not None or answer.held.mechanisms:
            continue
        try:
            stands = standing(answer.prepared.model)
        except NoStanding as reason:
            left_out.append(f"vibration of {answer.prepared.id}: {reason}")
            continue
        felt = sources if lifts & {answer.prepared.id, *answer.twins} else {}
        modes, near = _modes(stands.frequencies, count, felt, wanted, most=MOST_MODES)
        value = {
            **_value(modes, near),
            "sway_stiffness_n_per_mm": list(stands.sway_stiffness_n_per_mm()),
            "twist_stiffness_nm_per_rad": stands.twist_stiffness_nm_per_rad(),
        }
        name = joined([answer.prepared.id, *answer.twins])
        sections[place] = Shaken(name, value, modes, near)
    whole = None
    if given is not None and given["whole_machine"] and len(firm) == len(answers) > 1:
        try:
            made = machine(
                frame_of(inputs["frame"], kit),
                [(a.prepared.nodes, a.prepared.model) for a in answers],
                kit,
            )
            modes, near = _modes(made.frequencies, count, sources, wanted, most=count)
            ids = [answer.prepared.id for answer in answers]
            value = {**_value(modes, near), "sections": ids}
            whole = Shaken(f"the machine of {joined(ids)}", value, modes, near)
        except NotCoupled as reason:
            left_out.append(f"vibration of the whole machine: {reason}")
    return Vibration(sections, whole, tuple(left_out))


def _sections(inputs: Mapping[str, Any], answers: Sequence[SectionAnswer]) -> set[str]:
    """Sections that feel the sources by themselves. Raises InvalidInputs."""
    ids = [answer.prepared.id for answer in answers]
    asked = inputs.get("excitation", {}).get("sections", ids)
    faults = [
        (f"/excitation/sections/{k}", Fault("unknown-reference", f"There is no section {name}."))
        for k, name in enumerate(asked)
        if name not in ids
    ]
    if faults and not inputs.get("sections"):
        raise InvalidInputs(faults)
    return set(asked)


class _Find(Protocol):
    def __call__(self, *, count: int) -> Modes: ...


def _modes(
    find: _Find, count: int, sources: Mapping[str, float], wanted: float, *, most: int
) -> tuple[Modes, tuple[Closeness, ...]]:
    """At least `count` modes, and as many more as reach above every source, at most `most`.
    Sources beyond the highest mode found are compared with none."""
    modes = find(count=count)
    while (
        sources
        and count < most
        and len(modes.value) == count
        and modes.value[-1] < REACH * max(sources.values())
    ):
        count = min(2 * count, most)
        modes = find(count=count)
    if not len(modes.value):
        return modes, ()
    every = len(modes.value) < count
    known = {
        name: f
        for name, f in sources.items()
        if every or f <= (1 + wanted) * float(modes.value[-1])
    }
    return modes, tuple(closeness(modes.value, known, wanted_ratio=wanted))


def _value(modes: Modes, near: Sequence[Closeness]) -> Json:
    value: Json = {"frequencies_hz": modes.value}
    if near:
        value["nearest"] = [
            {
                "source": one.source,
                "source_hz": one.source_hz,
                "mode": one.mode,
                "mode_hz": one.mode_hz,
                "apart_ratio": one.apart_ratio,
                "clear": one.clear,
            }
            for one in near
        ]
    return value


def mode_picture(
    found: Vibration | None, shown: SectionAnswer, answers: Sequence[SectionAnswer], asked: Json
) -> Json:
    """Members of the picture that show one mode of a section. Raises InvalidInputs."""
    number = asked.get("mode", 0)
    first = shown.same_as or shown.prepared.id
    place = [answer.prepared.id for answer in answers].index(first)
    if found is None or place not in found.sections:
        return {}
    return shown_mode(found.sections[place].modes, number)


def shown_mode(modes: Modes, number: int) -> Json:
    """One mode for the picture. Raises InvalidInputs where there is none of this number."""
    if number >= len(modes.value):
        detail = f"There are {len(modes.value)}, numbered from 0."
        raise InvalidInputs([("/picture/mode", Fault("unknown-reference", detail))])
    return {
        "mode": number,
        "mode_hz": float(modes.value[number]),
        "mode_shape": modes.shape[number],
    }


def vibration_findings(
    found: Vibration, inputs: Mapping[str, Any], rerun: Rerun | None
) -> list[Finding]:
    """Each source that sits on a mode, or that none does."""
    if "excitation" not in inputs:
        return []
    wanted = inputs["excitation"]["apart_ratio"]
    close = [(shaken, one) for shaken in found.all for one in shaken.near if not one.clear]
    if not close:
        every = [(shaken, one) for shaken in found.all for one in shaken.near]
        if not every:
            return []
        shaken, one = min(every, key=lambda pair: pair[1].apart_ratio)
        words = (
            f"Nothing that shakes comes within {wanted:.0%} of a natural frequency: nearest is "
            f"{_lower(_source(one))} to {shaken.name} at {one.mode_hz:.2f} Hz, "
            f"{one.apart_ratio:.0%} apart."
        )
        return [
            Finding(
                "resonance-clear", "ok", words, (_at(found, shaken),),
                Measure(round(one.apart_ratio, 4), wanted, "1"),
            )
        ]  # fmt: skip
    remedy = None if rerun is None else _other_links(found, inputs, rerun)
    return [
        Finding(
            "resonance-near",
            "watch",
            f"{_source(one)} is {one.apart_ratio:.0%} from mode {one.mode + 1} of {shaken.name} "
            f"at {one.mode_hz:.2f} Hz; {wanted:.0%} is asked. Change its rate, or stiffen the "
            "frame: play in the seats makes it softer still.",
            (_at(found, shaken),),
            Measure(round(one.apart_ratio, 4), wanted, "1"),
            remedy if one.source == "tooth" else None,
        )
        for shaken, one in close
    ]


def _source(one: Closeness) -> str:
    name = {
        "hook": "The hook rate of the lift",
        "tooth": "The tooth rate of the lift",
        "shaft": "The head shaft of the lift",
    }.get(one.source, f"The source {one.source}")
    return f"{name} ({one.source_hz:.2f} Hz)"


def _lower(words: str) -> str:
    return words[0].lower() + words[1:]


def _at(found: Vibration, shaken: Shaken) -> str:
    for place, section in found.sections.items():
        if section is shaken:
            return f"/sections/{place}/vibration"
    return "/machine_vibration"


def _other_links(found: Vibration, inputs: Mapping[str, Any], rerun: Rerun) -> Remedy | None:
    """Another count of links between hooks at the same rate of hooks that keeps clear of every
    mode, the next greater one or else the next smaller; proven by a run."""
    given = inputs["excitation"]
    links = given.get("links_per_hook_count")
    if links is None or links != int(links):
        return None
    wanted = given["apart_ratio"]
    tries = 0
    for other in (*range(int(links) + 1, 3 * int(links) + 1), *range(int(links) - 1, 1, -1)):
        tooth = sources_hz({**given, "links_per_hook_count": other, "sources_hz": {}})
        if not _looks_clear(found, tooth, wanted):
            continue
        patch = {"excitation": {"links_per_hook_count": other}}
        narrow = {
            "analyses": ["linear"], "seek_remedies": False, "suggest": None, "travel": None,
            "handling": {"cases": ["stand"]},
        }  # fmt: skip
        proof = rerun({**patch, **narrow, "picture": None})
        tries += 1
        if proof is not None and "resonance-near" not in [f.code for f in proof.findings]:
            return Remedy(
                f"Set a hook every {other} links: the tooth rate is then "
                f"{tooth['tooth']:.2f} Hz, clear of every mode found.",
                patch,
            )
        if tries == MOST_TRIES:
            break
    return None


def _looks_clear(found: Vibration, tooth: Mapping[str, float], wanted: float) -> bool:
    """Clear of the modes that are known, and not above those of a section."""
    for shaken in found.all:
        modes = shaken.modes.value
        if not shaken.near:
            continue
        if shaken is not found.machine and max(tooth.values()) > modes[-1]:
            return False
        if not all(one.clear for one in closeness(modes, tooth, wanted_ratio=wanted)):
            return False
    return True
