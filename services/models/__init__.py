"""The nouns of when and by whom."""

from services.models.book_exports import BookExport
from services.models.bringings import Bringing
from services.models.contacts import ContactAttempt
from services.models.courses import Course, Hold, Visit
from services.models.crews import Crew, Technician, Truck, Yard
from services.models.dispatches import Dispatch, LoadLine
from services.models.estimates import Estimate, EstimateAnswer, EstimateWeek
from services.models.feeds import CrewFeed, FeedEntry
from services.models.field import Device, FieldEvent, FieldPhoto, Packet
from services.models.outbox import ClientLink, Outbox
from services.models.packages import AskedPackage
from services.models.plannings import Planning
from services.models.prices import CostRate, PriceRule, TaxRate
from services.models.programs import Hook, ProgramKey
from services.models.replies import Reply
from services.models.roads import RoadWay
from services.models.second_factors import Authenticator, RecoveryCode
from services.models.statements import (
    ChargeCorrection,
    Payment,
    Statement,
    StatementLine,
    StatementPaper,
)
from services.models.watching import Check, Pulse
from services.models.weather import ForecastCell, ForecastPoint, HourlyForecast
from services.models.wishes import DayAsked

__all__ = [
    "AskedPackage",
    "Authenticator",
    "BookExport",
    "Bringing",
    "ChargeCorrection",
    "Check",
    "ClientLink",
    "ContactAttempt",
    "CostRate",
    "Course",
    "Crew",
    "CrewFeed",
    "DayAsked",
    "Device",
    "Dispatch",
    "Estimate",
    "EstimateAnswer",
    "EstimateWeek",
    "FeedEntry",
    "FieldEvent",
    "FieldPhoto",
    "ForecastCell",
    "ForecastPoint",
    "Hold",
    "Hook",
    "HourlyForecast",
    "LoadLine",
    "Outbox",
    "Packet",
    "Payment",
    "Planning",
    "PriceRule",
    "ProgramKey",
    "Pulse",
    "RecoveryCode",
    "Reply",
    "RoadWay",
    "Statement",
    "StatementLine",
    "StatementPaper",
    "TaxRate",
    "Technician",
    "Truck",
    "Visit",
    "Yard",
]
