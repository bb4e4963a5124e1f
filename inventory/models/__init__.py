"""What is used up, what lives, who delivers."""

from inventory.models.container import (
    Container,
    ContainerKind,
    CylinderDetail,
    Supply,
    SupplyPurpose,
)
from inventory.models.forecast import Forecast, ForecastPart, ForecastScore
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
from inventory.models.measure import (
    EyeCount,
    FeederCalibration,
    PressureReading,
    StockFinding,
    WhatWasFound,
)
from inventory.models.order import (
    Deposit,
    GoodsReceipt,
    MonthBudget,
    OrderLine,
    OrderState,
    PriceSeen,
    PurchaseOrder,
    ReceiptLine,
    Reservation,
)
from inventory.models.plan import UsePlan, UsePlanLine
from inventory.models.stock_line import StockLine, StockToDo

__all__ = [
    "Container",
    "ContainerKind",
    "CylinderDetail",
    "Deposit",
    "EyeCount",
    "FeederCalibration",
    "Forecast",
    "ForecastPart",
    "ForecastScore",
    "GoodsReceipt",
    "Item",
    "ItemKind",
    "LivestockBatch",
    "LivestockMovement",
    "Lot",
    "MonthBudget",
    "Movement",
    "MovementKind",
    "OrderLine",
    "OrderState",
    "PressCalibration",
    "PressureReading",
    "PriceSeen",
    "PurchaseOrder",
    "ReceiptLine",
    "Reservation",
    "Scale",
    "StockFinding",
    "StockLine",
    "StockToDo",
    "Supplier",
    "SupplierClosure",
    "SupplierItem",
    "Supply",
    "SupplyPurpose",
    "Use",
    "UsePlan",
    "UsePlanLine",
    "Weighing",
    "WhatWasFound",
]
