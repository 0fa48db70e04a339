"""From validated inputs to the numbers of a panel, a blow and its contacts; refuses what no
panel can be built of."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import CannotCalculate

from ..kit import Kit
from .contact_law import ContactLaw
from .hertz import Contact, ball_on_plane, ball_on_rod, crushing_force, elastic_blow, shared_modulus
from .materials import MATERIALS, Material
from .panel_spec import Deck, PanelSpec, RodKind, Seat, Supports
from .peak_force import Blow, half_sine_peak


@dataclass(frozen=True)
class Target:
    """What a ball touches: contact with the softest and the stiffest moduli, the radius of the
    ball, and the lower yield strength of the two, None where unknown."""

    name: str
    modulus: tuple[float, float]
    soft: Contact
    stiff: Contact
    ball_mm: float
    yield_n_mm2: float | None

    def report(self, blow: Blow, bounce: tuple[float, float]) -> dict[str, Any]:
        """The fields of TouchOut. Args: bounce: restitution, least and most."""
        low, high = (elastic_blow(c, blow.mass_kg, blow.speed_m_s) for c in (self.soft, self.stiff))
        least = low.force_n
        if self.yield_n_mm2 is not None:
            least = crushing_force(self.soft, self.ball_mm, self.yield_n_mm2, blow.energy_n_mm)
        third = high.force_n ** (1 / 3)
        found = {
            "target": self.name,
            "modulus_min_n_per_mm2": self.modulus[0],
            "modulus_max_n_per_mm2": self.modulus[1],
            "force_min_n": least,
            "force_max_n": high.force_n,
            "dent_min_mm": high.dent_mm,
            "dent_max_mm": low.dent_mm,
            "duration_min_ms": 1000 * high.duration_s,
            "duration_max_ms": 1000 * low.duration_s,
            "patch_long_mm": self.stiff.a_mm_per_n13 * third,
            "patch_short_mm": self.stiff.b_mm_per_n13 * third,
            "pressure_n_per_mm2": self.stiff.pressure_n_mm2(high.force_n),
            "ball_gravities_ratio": high.force_n / blow.weight_n,
            "logger_min_gravities_ratio": self._logger_g(blow, bounce[0], low.duration_s),
            "logger_max_gravities_ratio": self._logger_g(blow, bounce[1], high.duration_s),
        }
        if self.yield_n_mm2 is not None:
            found["yields_at_n_per_mm2"] = 1.6 * self.yield_n_mm2
        return found

    def _logger_g(self, blow: Blow, bounce: float, duration_s: float) -> float:
        return half_sine_peak(blow.speed_m_s * (1 + bounce), duration_s) / blow.gravity_m_s2


def blow_of(inputs: Mapping[str, Any]) -> Blow:
    """The ball as it lands."""
    mass, height = inputs["ball"]["mass_kg"], inputs["drop"]["height_mm"]
    return Blow(mass, height, inputs["gravity_m_s2"])


def panel_of(inputs: Mapping[str, Any], kit: Kit) -> PanelSpec:
    """The panel, its rods looked up in the kit. Raises CannotCalculate."""
    panel = inputs["panel"]
    bay = _rod(panel, kit, panel["bay_rod"], "bay_rod")
    cross = _rod(panel, kit, panel.get("cross_rod", panel["bay_rod"]), "cross_rod")
    depth = _rod(panel, kit, panel.get("depth_rod", panel["bay_rod"]), "depth_rod")
    diagonal = None if panel["diagonals"] == "none" else _diagonal(panel, kit, bay, depth)
    supports = panel["supports"]
    hub = kit.frame_hub
    turning = panel.get("seat_turning_n_mm_per_rad", hub.rotational_stiffness_n_mm_per_rad or 0.0)
    held = panel.get("halves_held", not hub.two_part)
    pull_out = hub.seat.tension_held_n if held else hub.seat.tension_free_n
    thinnest = min(rod.diameter_mm for rod in (bay, cross, depth))
    seat = Seat(
        pull_out,
        hub.seat.compression_n,
        hub.seat.stiffness_n_per_mm,
        panel.get("seat_moment_n_mm", pull_out * thinnest / 2),
        turning,
    )
    deck = panel.get("deck")
    return PanelSpec(
        panel["bays_along_count"],
        panel["bays_across_count"],
        bay,
        cross,
        depth,
        diagonal,
        panel["diagonals"],
        hub.mass_g / 1000,
        seat,
        Supports(
            supports["rests_on"],
            supports["bearer_every_bays_count"],
            supports.get("stiffness_n_per_mm", 0.0),
        ),
        None if deck is None else Deck(*deck.values()),
    )


def _rod(panel: Mapping[str, Any], kit: Kit, name: str, field: str) -> RodKind:
    if name not in kit.rod_index:
        known = ", ".join(rod.id for rod in kit.rods)
        reason = f"The kit has no rod {name}; it has {known}."
        raise CannotCalculate(f"/panel/{field}", reason)
    return _kind(panel, kit, kit.rod_index[name], field)


def _kind(panel: Mapping[str, Any], kit: Kit, place: int, field: str) -> RodKind:
    rod, inset = kit.rods[place], kit.frame_hub.seat.inset_mm
    if rod.pitch_mm <= 2 * inset:
        reason = f"Two seats of {inset:g} mm leave nothing of rod {rod.id} between them."
        raise CannotCalculate(f"/panel/{field}", reason)
    if rod.diameter_mm >= rod.pitch_mm:
        reason = f"Rod {rod.id} is as thick as it is long."
        raise CannotCalculate(f"/panel/{field}", reason)
    return RodKind(
        rod.id,
        rod.pitch_mm,
        rod.diameter_mm,
        rod.modulus_n_per_mm2,
        rod.mass_g / 1000,
        panel["rod_bending_strength_n_per_mm2"],
        panel["rod_shear_strength_n_per_mm2"],
        kit.compression_n(place),
    )


def _diagonal(panel: Mapping[str, Any], kit: Kit, bay: RodKind, depth: RodKind) -> RodKind:
    length = math.hypot(bay.pitch_mm, depth.pitch_mm)
    place = kit.rod_spanning(length)
    if place is None:
        near = min(kit.rods, key=lambda rod: abs(rod.pitch_mm - length))
        reason = (
            f"No rod spans the diagonal of {bay.id} by {depth.id}, {length:.1f} mm; {near.id} is "
            f"{near.pitch_mm:g} mm. Take another depth_rod, or diagonals none."
        )
        raise CannotCalculate("/panel/depth_rod", reason)
    return _kind(panel, kit, place, "depth_rod")


def targets_of(inputs: Mapping[str, Any], spec: PanelSpec) -> dict[str, Target]:
    """What balls can touch, by the kind of landing place."""
    panel, ball_mm = inputs["panel"], inputs["ball"]["diameter_mm"] / 2
    ball = _material(inputs["ball"]["material"])
    if spec.deck is not None:
        deck = _target("deck", ball, _material(panel["deck_material"]), ball_mm, 0.0)
        return dict.fromkeys(("hub", "rod-along", "rod-across", "between-rods"), deck)
    rod, hub = _material(panel["rod_material"]), _material(panel["hub_material"])
    return {
        "hub": _target("hub", ball, hub, ball_mm, 0.0),
        "rod-along": _target("rod-along", ball, rod, ball_mm, spec.bay.diameter_mm / 2),
        "rod-across": _target("rod-across", ball, rod, ball_mm, spec.cross.diameter_mm / 2),
    }


def _material(given: Mapping[str, Any]) -> Material:
    if "known" in given:
        return MATERIALS[given["known"]]
    return Material(
        given["modulus_min_n_per_mm2"],
        given["modulus_max_n_per_mm2"],
        given["poisson_ratio"],
        given.get("yield_n_per_mm2"),
        "given",
    )


def _target(name: str, ball: Material, struck: Material, ball_mm: float, rod_mm: float) -> Target:
    moduli = (
        shared_modulus((ball.modulus_min, ball.poisson), (struck.modulus_min, struck.poisson)),
        shared_modulus((ball.modulus_max, ball.poisson), (struck.modulus_max, struck.poisson)),
    )
    soft, stiff = (
        ball_on_rod(ball_mm, rod_mm, modulus) if rod_mm else ball_on_plane(ball_mm, modulus)
        for modulus in moduli
    )
    yields = [m.yield_n_mm2 for m in (ball, struck) if m.yield_n_mm2 is not None]
    return Target(name, moduli, soft, stiff, ball_mm, min(yields, default=None))


def laws_of(inputs: Mapping[str, Any], target: Target) -> tuple[ContactLaw, ContactLaw]:
    """Contact with its cushion, softest and stiffest."""
    slowing = inputs.get("slowing")
    cushion = (slowing["stiffness_n_per_mm"], slowing["travel_mm"]) if slowing else (0.0, 0.0)
    soft = ContactLaw(target.soft.stiffness_n_mm15, *cushion)
    return soft, ContactLaw(target.stiff.stiffness_n_mm15, *cushion)
