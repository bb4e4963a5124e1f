"""What is used up, what lives, who delivers."""

from inventory.models.container import (
    Container,
    ContainerKind,
    CylinderDetail,
    Supply,
    SupplyPurpose,
)
from inventory.models.forecast import Forecast
from inventory.models.item import Item, ItemKind, Lot, Supplier, SupplierClosure, SupplierItem
from inventory.models.ledger import (
    Movement,
    MovementKind,
    PressCalibration,
    Scale,
    Use,
    Weighing,
)
from inventory.models.livestock import LivestockBatch, LivestockMovement
from inventory.models.plan import UsePlan, UsePlanLine

__all__ = [
    "Container",
    "ContainerKind",
    "CylinderDetail",
    "Forecast",
    "Item",
    "ItemKind",
    "LivestockBatch",
    "LivestockMovement",
    "Lot",
    "Movement",
    "MovementKind",
    "PressCalibration",
    "Scale",
    "Supplier",
    "SupplierClosure",
    "SupplierItem",
    "Supply",
    "SupplyPurpose",
    "Use",
    "UsePlan",
    "UsePlanLine",
    "Weighing",
]
