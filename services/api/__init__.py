"""What services offer to programs."""

from rest_framework.viewsets import ViewSetMixin

from services.api.asking import DayAskedViewSet
from services.api.bringing import BringingViewSet
from services.api.clients import CopyMailViewSet, RemovalViewSet
from services.api.courses import CourseViewSet
from services.api.crews import CrewViewSet, TechnicianViewSet, TruckViewSet, YardViewSet
from services.api.dispatches import DispatchViewSet
from services.api.estimates import EstimateViewSet
from services.api.forecasts import ForecastViewSet
from services.api.notices import NoticeViewSet
from services.api.opened import ClientLinkViewSet, CrewFeedViewSet, PhoneViewSet
from services.api.outbox import OutboxViewSet
from services.api.people import PersonViewSet
from services.api.plannings import PlanningViewSet
from services.api.prices import CostRateViewSet, PriceRuleViewSet, TaxRateViewSet
from services.api.searching import SearchViewSet
from services.api.signs import SignDesignViewSet, SignViewSet
from services.api.statements import (
    ChargeCorrectionViewSet,
    EarningViewSet,
    PaymentViewSet,
    StatementViewSet,
)
from services.api.visits import VisitViewSet
from services.api.weeks import WeekViewSet

ROUTES: list[tuple[str, type[ViewSetMixin]]] = [
    ("yards", YardViewSet),
    ("crews", CrewViewSet),
    ("trucks", TruckViewSet),
    ("technicians", TechnicianViewSet),
    ("courses", CourseViewSet),
    ("visits", VisitViewSet),
    ("dispatches", DispatchViewSet),
    ("outbox", OutboxViewSet),
    ("days-asked", DayAskedViewSet),
    ("price-rules", PriceRuleViewSet),
    ("cost-rates", CostRateViewSet),
    ("tax-rates", TaxRateViewSet),
    ("earnings", EarningViewSet),
    ("estimates", EstimateViewSet),
    ("statements", StatementViewSet),
    ("payments", PaymentViewSet),
    ("charge-corrections", ChargeCorrectionViewSet),
    ("week", WeekViewSet),
    ("search", SearchViewSet),
    ("files-brought", BringingViewSet),
    ("plannings", PlanningViewSet),
    ("forecasts", ForecastViewSet),
    ("notices", NoticeViewSet),
    ("people", PersonViewSet),
    ("client-links", ClientLinkViewSet),
    ("crew-feeds", CrewFeedViewSet),
    ("phones", PhoneViewSet),
    ("signs", SignViewSet),
    ("sign-designs", SignDesignViewSet),
    ("removals", RemovalViewSet),
    ("copy-mails", CopyMailViewSet),
]
