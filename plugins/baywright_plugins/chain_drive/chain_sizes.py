"""Roller chains by size: pitch and smallest breaking load."""

from dataclasses import dataclass

INCH_MM, POUND_N = 25.4, 4.4482216152605


@dataclass(frozen=True)
class ChainSize:
    """Pitch in mm, smallest breaking load in N; `working_n` where the table prints one."""

    pitch_mm: float
    breaking_n: float
    working_n: float | None
    source: str


_ANSI = "ANSI B29.1 roller chain standard sizes, as an encyclopedia prints them"
_ISO = "ISO 606, Table 1, B series, single strand (from memory)"


def _ansi(pitch_in: float, tensile_lbf: float, working_lbf: float) -> ChainSize:
    return ChainSize(pitch_in * INCH_MM, tensile_lbf * POUND_N, working_lbf * POUND_N, _ANSI)


SIZES = {
    "ANSI-25": _ansi(0.25, 781, 140),
    "ANSI-40": _ansi(0.5, 3125, 810),
    "ANSI-41": _ansi(0.5, 1500, 500),
    "ANSI-50": _ansi(0.625, 4880, 1430),
    "ANSI-60": _ansi(0.75, 7030, 1980),
    "05B": ChainSize(8.0, 4400.0, None, _ISO),
    "06B": ChainSize(9.525, 8900.0, None, _ISO),
    "08B": ChainSize(12.7, 17800.0, None, _ISO),
    "12B": ChainSize(19.05, 28900.0, None, _ISO),
    "16B": ChainSize(25.4, 60000.0, None, _ISO),
}
