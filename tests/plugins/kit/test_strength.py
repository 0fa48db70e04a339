"""What a seated rod is worth, against closed forms and handbook values."""

import math

import pytest

from baywright_plugins.kit import (
    Kit,
    KitSchema,
    StockSchema,
    available_counts,
    compression_capacity_n,
    euler_load_n,
    seated_stiffness_n_per_mm,
)
from baywright_service.fields import flatten_faults


def test_euler_against_a_frame_eigenvalue() -> None:
    """Pin-ended 12/10 mm tube of 1.4 m: 185.7608 N in closed form; an independent frame program
    with many elements gives 185.7612 N."""
    assert euler_load_n(1400.0, 36.89015173477815e6) == pytest.approx(185.76081832572484, rel=1e-9)
    assert euler_load_n(1400.0, 36.89015173477815e6) == pytest.approx(185.7612010321395, rel=1e-5)


def test_fixed_ends_buckle_at_four_times() -> None:
    """AISC 360 Commentary Table C-A-7.1: theoretical length factor 0.5 for fixed ends."""
    pinned = euler_load_n(500.0, 2.4e6)
    assert euler_load_n(500.0, 2.4e6, length_factor=0.5) == pytest.approx(4 * pinned)


def test_seats_decide_the_stiffness() -> None:
    """8 mm dowel, E 12,000 N/mm2, seats of 250 N/mm: 122.0 N/mm where the wood alone has 5,027."""
    rigidity = 12000.0 * math.pi * 8.0**2 / 4
    assert rigidity / 120.0 == pytest.approx(5027, abs=0.6)
    assert seated_stiffness_n_per_mm(120.0, rigidity, 250.0) == pytest.approx(122.0, abs=0.05)


def test_bearing_or_buckling_whichever_is_less() -> None:
    """A short rod bears, a long one bows, and a rod shorter than its seats only bears."""
    stiff = 12000.0 * math.pi * 8.0**4 / 64
    assert compression_capacity_n(100.0, stiff, 300.0) == 300.0
    long = math.pi**2 * stiff / 900.0**2 / 1.5
    assert compression_capacity_n(900.0, stiff, 300.0) == pytest.approx(long)
    assert compression_capacity_n(-5.0, stiff, 300.0) == 300.0


ROD = {"id": "R60", "pitch_mm": 60, "diameter_mm": 8, "modulus_n_per_mm2": 12000, "mass_g": 1}
HUB = {
    "id": "H", "ports": [[1, 0, 0]], "mass_g": 11, "overhang_mm": 17, "seat_inset_mm": 10,
    "seat_play_mm": 0.15, "seat_stiffness_n_per_mm": 250, "tension_n": {"held": 60, "free": 24},
    "compression_n": 300,
}  # fmt: skip
FAR = {**HUB, "ports": [[2, 0, 0]]}


@pytest.mark.parametrize(
    ("pointer", "code", "kit"),
    [
        ("/rods", "out-of-range", {"rods": [], "hubs": [HUB]}),
        ("/rods/1/id", "not-unique", {"rods": [ROD, ROD], "hubs": [HUB]}),
        ("/hubs/0/id", "not-unique", {"rods": [ROD], "hubs": [{**HUB, "id": "R60"}]}),
        ("/hubs", "missing", {"rods": [ROD], "hubs": [{**HUB, "role": "middle"}]}),
        ("/hubs/0/slides_along", "missing", {"rods": [ROD], "hubs": [{**HUB, "two_part": True}]}),
        ("/rods/0/pitch_mm", "out-of-range", {"rods": [{**ROD, "pitch_mm": 0}], "hubs": [HUB]}),
        ("/hubs/0/ports/0/0", "out-of-range", {"rods": [ROD], "hubs": [FAR]}),
    ],
)  # fmt: skip
def test_fault_is_named(pointer: str, code: str, kit: dict[str, object]) -> None:
    """One change to a valid kit, one fault with its place."""
    _, faults = flatten_faults(KitSchema(), kit)
    assert [(at, fault.code) for at, fault in faults] == [(pointer, code)]


def test_kit_finds_the_rod_that_closes() -> None:
    """A rod closes a span when it is within the play of its two seats, 0.3 mm here."""
    kit = Kit.from_inputs(KitSchema().load({"rods": [ROD], "hubs": [HUB]}))
    assert kit.rod_spanning(60.29) == 0
    assert kit.rod_spanning(60.31) is None


def test_reserved_pieces_are_not_free() -> None:
    """On hand less reserved, and never less than none."""
    stock = StockSchema().load(
        {
            "counts": [
                {"item": "R60", "on_hand_count": 10, "reserved_count": 4},
                {"item": "H", "on_hand_count": 1, "reserved_count": 4},
            ]
        }
    )
    assert available_counts(stock) == {"R60": 6, "H": 0}
