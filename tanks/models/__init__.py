"""Glass, places, layouts and readings."""

from tanks.models.equipment import Equipment, EquipmentService
from tanks.models.gates import GateThreshold, GateWord, StartUpStep
from tanks.models.layout import Brief, Designer, Layout, LayoutVersion, Stage, StageChange, Style
from tanks.models.material import MaterialLine, MaterialPart, Secured
from tanks.models.photo import Photo, PhotoReview
from tanks.models.place import Position, Room, RoomAirCheck, Zone
from tanks.models.planting import (
    Fixing,
    GroupPlace,
    Hardscape,
    LeafColour,
    PlantGroup,
    SubstrateLayer,
)
from tanks.models.public_code import PublicCode
from tanks.models.reading import Parameter, ParameterRange, Reading
from tanks.models.species import Species
from tanks.models.tank import Placement, Purpose, Tank, TankCode

__all__ = [
    "Brief",
    "Designer",
    "Equipment",
    "EquipmentService",
    "Fixing",
    "GateThreshold",
    "GateWord",
    "GroupPlace",
    "Hardscape",
    "Layout",
    "LayoutVersion",
    "LeafColour",
    "MaterialLine",
    "MaterialPart",
    "Parameter",
    "ParameterRange",
    "Photo",
    "PhotoReview",
    "Placement",
    "PlantGroup",
    "Position",
    "PublicCode",
    "Purpose",
    "Reading",
    "Room",
    "RoomAirCheck",
    "Secured",
    "Species",
    "Stage",
    "StageChange",
    "StartUpStep",
    "Style",
    "SubstrateLayer",
    "Tank",
    "TankCode",
    "Zone",
]
