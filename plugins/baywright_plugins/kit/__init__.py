"""Rods, hubs, loose items and stock, and what a seated rod is worth."""

from .model import Hub, Item, Kit, Rod, Seat
from .schemas import KitSchema, StockSchema
from .stock import available_counts
from .strength import compression_capacity_n, euler_load_n, seated_stiffness_n_per_mm

__all__ = [
    "Hub",
    "Item",
    "Kit",
    "KitSchema",
    "Rod",
    "Seat",
    "StockSchema",
    "available_counts",
    "compression_capacity_n",
    "euler_load_n",
    "seated_stiffness_n_per_mm",
]
