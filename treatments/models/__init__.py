"""The nouns of what is applied."""

from treatments.models.applicators import Applicator, Certificate
from treatments.models.business import Business
from treatments.models.corrections import Correction, CorrectionAnswer
from treatments.models.earlier import EarlierApplication
from treatments.models.handed import CopyGiven, ReturnFiled
from treatments.models.inspecting import InspectorGrant, InspectorLook
from treatments.models.journal import Checkpoint, Disposal, EntryDisposal, JournalEntry
from treatments.models.leftovers import LeftoverNote
from treatments.models.papers import KeptPaper
from treatments.models.pests import Pest, ScoutingCount
from treatments.models.products import ActiveIngredient, LabelRate, Product, ProductIngredient
from treatments.models.protection import FitTest, ProtectionIssued
from treatments.models.records import ApplicationRecord
from treatments.models.rotations import AcceptedWarning, Rotation, RotationWeek
from treatments.models.rulesets import FactConfirmed, OwnRuleSet, RuleChoice
from treatments.models.signatures import RecordSigned
from treatments.models.signs import OwnSign, SignConfirmed, SignTakenDown
from treatments.models.spills import SpillNote
from treatments.models.sprayers import Calibration, Sprayer
from treatments.models.store import Locker, Lot, StockEntry
from treatments.models.water_tests import WaterTest
from treatments.models.weather import DailyWeather, WeatherStation

__all__ = [
    "AcceptedWarning",
    "ActiveIngredient",
    "ApplicationRecord",
    "Applicator",
    "Business",
    "Calibration",
    "Certificate",
    "Checkpoint",
    "CopyGiven",
    "Correction",
    "CorrectionAnswer",
    "DailyWeather",
    "Disposal",
    "EarlierApplication",
    "EntryDisposal",
    "FactConfirmed",
    "FitTest",
    "InspectorGrant",
    "InspectorLook",
    "JournalEntry",
    "KeptPaper",
    "LabelRate",
    "LeftoverNote",
    "Locker",
    "Lot",
    "OwnRuleSet",
    "OwnSign",
    "Pest",
    "Product",
    "ProductIngredient",
    "ProtectionIssued",
    "RecordSigned",
    "ReturnFiled",
    "Rotation",
    "RotationWeek",
    "RuleChoice",
    "ScoutingCount",
    "SignConfirmed",
    "SignTakenDown",
    "SpillNote",
    "Sprayer",
    "StockEntry",
    "WaterTest",
    "WeatherStation",
]
