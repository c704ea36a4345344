"""All models of the app, one import for Django: each lives in the room it belongs to."""

from arsenal.advice.models import Ranking
from arsenal.afterwards.models import Observation
from arsenal.bag.models import (
    CareEntry,
    EarlierDrilling,
    Hole,
    LayoutNotation,
    OwnedBall,
    PluggedHole,
    Role,
)
from arsenal.catalogue.models import BallModel, BallSpec, Cover, Finish, StockBall
from arsenal.kept.models import Piece
from arsenal.lanes.models import BowlerCondition, Condition, House, LaneSurface
from arsenal.office.models import OfficeReport, TaskFound
from arsenal.phone.models import LanesAdvice, PhoneLink, PhoneReport, PhoneSheet
from arsenal.press.models import DrillPlan, PlannedHole, RedrillGate
from arsenal.prices.models import PriceList
from arsenal.rerank.models import Rerank, RerankEntry
from arsenal.rules.models import HardnessReading, HouseLimit, ShopRules, SizeReading
from arsenal.tickets.models import FollowUp, Ticket

__all__ = [
    "BallModel",
    "BallSpec",
    "BowlerCondition",
    "CareEntry",
    "Condition",
    "Cover",
    "DrillPlan",
    "EarlierDrilling",
    "Finish",
    "FollowUp",
    "HardnessReading",
    "Hole",
    "House",
    "HouseLimit",
    "LaneSurface",
    "LanesAdvice",
    "LayoutNotation",
    "Observation",
    "OfficeReport",
    "OwnedBall",
    "PhoneLink",
    "PhoneReport",
    "PhoneSheet",
    "Piece",
    "PlannedHole",
    "PluggedHole",
    "PriceList",
    "Ranking",
    "RedrillGate",
    "Rerank",
    "RerankEntry",
    "Role",
    "ShopRules",
    "SizeReading",
    "StockBall",
    "TaskFound",
    "Ticket",
]
