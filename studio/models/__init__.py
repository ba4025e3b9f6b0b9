from studio.models.choices import Unit
from studio.models.furniture import FurnitureCoat, KilnFurniture, Mould
from studio.models.glass import GlassFamily, GlassForm, GlassKind, GlassLook
from studio.models.kiln import (
    ChamberShape,
    FieldOrder,
    HeatFrom,
    HoldFormat,
    Kiln,
    RampEntry,
    ServiceEntry,
    ServiceKind,
    ShelfPlace,
    ThermocoupleType,
    ToleranceClass,
)
from studio.models.label import HasCode, LotLabel
from studio.models.learnt_response import LearntResponse
from studio.models.list_import import ImportState, ListImport
from studio.models.person import FirstVisitCode, Invitation, Person, Role
from studio.models.receipt import FormReceipt
from studio.models.safety import SafetyLine
from studio.models.service_interval import ServiceInterval
from studio.models.shared_device import PersonAtDevice, SharedDevice, ShortCode
from studio.models.stock import (
    MEASURES_OF_FORM,
    GlassLot,
    Measure,
    StockLevel,
    StockMovement,
    StockSize,
)
from studio.models.studio import Studio
from studio.models.teaching import (
    ClassMember,
    RubricCriterion,
    TeachingClass,
    WrongJoiningCode,
)

__all__ = [
    "MEASURES_OF_FORM",
    "ChamberShape",
    "ClassMember",
    "FieldOrder",
    "FirstVisitCode",
    "FormReceipt",
    "FurnitureCoat",
    "GlassFamily",
    "GlassForm",
    "GlassKind",
    "GlassLook",
    "GlassLot",
    "HasCode",
    "HeatFrom",
    "HoldFormat",
    "ImportState",
    "Invitation",
    "Kiln",
    "KilnFurniture",
    "LearntResponse",
    "ListImport",
    "LotLabel",
    "Measure",
    "Mould",
    "Person",
    "PersonAtDevice",
    "RampEntry",
    "Role",
    "RubricCriterion",
    "SafetyLine",
    "ServiceEntry",
    "ServiceInterval",
    "ServiceKind",
    "SharedDevice",
    "ShelfPlace",
    "ShortCode",
    "StockLevel",
    "StockMovement",
    "StockSize",
    "Studio",
    "TeachingClass",
    "ThermocoupleType",
    "ToleranceClass",
    "Unit",
    "WrongJoiningCode",
]
