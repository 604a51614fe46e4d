"""What treatments offer to programs."""

from treatments.api.calibrating import CalibrationViewSet, WaterTestViewSet
from treatments.api.labels import ActiveIngredientViewSet, PestViewSet, ProductViewSet
from treatments.api.ladders import LadderViewSet
from treatments.api.mixing import MixViewSet
from treatments.api.people import ApplicatorViewSet, CertificateViewSet, SprayerViewSet
from treatments.api.protection import FitTestViewSet, ProtectionViewSet, SpillViewSet
from treatments.api.records import ApplicationRecordViewSet, CorrectionViewSet
from treatments.api.rotations import RotationViewSet
from treatments.api.scouting import ScoutingCountViewSet
from treatments.api.store import LotViewSet, StockEntryViewSet
from treatments.api.weather import DailyWeatherViewSet, StationViewSet

ROUTES = [
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
]
