"""What services offer to programs."""

from rest_framework.viewsets import ViewSetMixin

from services.api.asking import DayAskedViewSet
from services.api.courses import CourseViewSet
from services.api.crews import CrewViewSet, TechnicianViewSet, TruckViewSet, YardViewSet
from services.api.dispatches import DispatchViewSet
from services.api.estimates import EstimateViewSet
from services.api.outbox import OutboxViewSet
from services.api.prices import CostRateViewSet, PriceRuleViewSet, TaxRateViewSet
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
]
