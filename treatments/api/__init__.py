"""What treatments offer to programs."""

from rest_framework.viewsets import ViewSetMixin

from treatments.api.business import BusinessViewSet
from treatments.api.calibrating import CalibrationViewSet, WaterTestViewSet
from treatments.api.handing import FiledViewSet
from treatments.api.inspecting import GrantViewSet, LookViewSet
from treatments.api.labels import ActiveIngredientViewSet, PestViewSet, ProductViewSet
from treatments.api.ladders import LadderViewSet
from treatments.api.leftovers import LeftoverViewSet
from treatments.api.mixing import MixViewSet
from treatments.api.papers import PaperViewSet
from treatments.api.people import ApplicatorViewSet, CertificateViewSet, SprayerViewSet
from treatments.api.protection import FitTestViewSet, ProtectionViewSet, SpillViewSet
from treatments.api.records import ApplicationRecordViewSet, CorrectionViewSet
from treatments.api.rotations import RotationViewSet
from treatments.api.rulesets import RuleSetViewSet
from treatments.api.scouting import ScoutingCountViewSet
from treatments.api.store import LotViewSet, StockEntryViewSet
from treatments.api.weather import DailyWeatherViewSet, StationViewSet

ROUTES: list[tuple[str, type[ViewSetMixin]]] = [
    ("active-ingredients", ActiveIngredientViewSet),
    ("pests", PestViewSet),
    ("products", ProductViewSet),
    ("counts", ScoutingCountViewSet),
    ("ladders", LadderViewSet),
    ("weather-stations", StationViewSet),
    ("daily-weather", DailyWeatherViewSet),
    ("lots", LotViewSet),
    ("stock-entries", StockEntryViewSet),
    ("rotations", RotationViewSet),
    ("sprayers", SprayerViewSet),
    ("calibrations", CalibrationViewSet),
    ("mix", MixViewSet),
    ("water-tests", WaterTestViewSet),
    ("applicators", ApplicatorViewSet),
    ("certificates", CertificateViewSet),
    ("protection", ProtectionViewSet),
    ("fit-tests", FitTestViewSet),
    ("spills", SpillViewSet),
    ("records", ApplicationRecordViewSet),
    ("corrections", CorrectionViewSet),
    ("leftovers", LeftoverViewSet),
    ("papers", PaperViewSet),
    ("business", BusinessViewSet),
    ("rules", RuleSetViewSet),
    ("returns-filed", FiledViewSet),
    ("inspector-grants", GrantViewSet),
    ("inspector-looks", LookViewSet),
]
