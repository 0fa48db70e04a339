"""How stiff and how hard what meets is, as ranges, with where each range comes from."""

from collections.abc import Mapping
from dataclasses import dataclass

_BEECH = (
    "beech, Journal of Wood Science 65 (2019), finite element model of a mortise-and-tenon joint, "
    "Table 1: along 12205, radial 1858, tangential 774; yield radial 4.49, tangential 9.83 N/mm2"
)
_MEMORY = "usual handbook range, from memory"


@dataclass(frozen=True)
class Material:
    """Modulus and yield strength where it is pressed, in N/mm2; yield None where it shatters or
    springs back."""

    modulus_min: float
    modulus_max: float
    poisson: float
    yield_n_mm2: float | None
    source: str


MATERIALS: Mapping[str, Material] = {
    "beech-across": Material(774, 1858, 0.37, 9.83, _BEECH),
    "beech-ball": Material(774, 12205, 0.37, 9.83, _BEECH + "; a ball may land on any grain"),
    "softwood-across": Material(300, 1000, 0.37, 5.0, _MEMORY),
    "plywood-across": Material(300, 1000, 0.3, 6.0, _MEMORY),
    "printed-plastic": Material(1500, 3500, 0.38, 50.0, _MEMORY),
    "polypropylene": Material(1100, 1800, 0.42, 30.0, _MEMORY),
    "acrylic": Material(2400, 3400, 0.37, 70.0, _MEMORY),
    "rubber": Material(1.0, 10.0, 0.49, None, _MEMORY),
    "glass": Material(60_000, 75_000, 0.22, None, _MEMORY),
    "aluminium": Material(68_000, 72_000, 0.33, 100.0, _MEMORY),
    "steel": Material(200_000, 210_000, 0.3, 300.0, _MEMORY),
}
