"""Yards, crews and trucks in the owner's emergency desk; the schedule to read only.

Courses, visits, holds and dispatches change by their actions, which keep days and loads right.
"""

from django.contrib import admin

from services.models import (
    BookExport,
    Bringing,
    ChargeCorrection,
    ClientLink,
    CostRate,
    Course,
    Crew,
    Dispatch,
    Estimate,
    Hold,
    Outbox,
    Payment,
    PriceRule,
    Statement,
    TaxRate,
    Technician,
    Truck,
    Visit,
    Yard,
)
from treatments.admin import ReadOnlyAdmin


@admin.register(Yard)
class YardAdmin(admin.ModelAdmin):
    """Yards."""

    list_display = ["name", "address", "time_zone"]


@admin.register(Crew)
class CrewAdmin(admin.ModelAdmin):
    """Crews."""

    list_display = ["name", "yard", "shift_starts", "shift_ends", "retired"]


@admin.register(Truck)
class TruckAdmin(admin.ModelAdmin):
    """Trucks."""

    list_display = ["name", "crew", "water_gallons"]
    filter_horizontal = ["sprayers"]


@admin.register(Technician)
class TechnicianAdmin(admin.ModelAdmin):
    """What is known of the people who sign in."""

    list_display = ["user", "crew", "language"]


@admin.register(Course)
class CourseAdmin(ReadOnlyAdmin):
    """Courses."""

    list_display = ["property", "rotation", "first_day", "outcome"]


@admin.register(Visit)
class VisitAdmin(ReadOnlyAdmin):
    """Visits."""

    list_display = ["course", "planned", "state", "dispatch"]
    list_select_related = ["course__property", "course__rotation", "dispatch__crew"]
    list_filter = ["state"]


@admin.register(Hold)
class HoldAdmin(ReadOnlyAdmin):
    """Holds."""

    list_display = ["visit", "reason", "set_at", "lifted_at"]


@admin.register(Dispatch)
class DispatchAdmin(ReadOnlyAdmin):
    """Dispatches."""

    list_display = ["crew", "day", "made_at"]


@admin.register(Outbox)
class OutboxAdmin(ReadOnlyAdmin):
    """What is to be sent."""

    list_display = ["kind", "not_before", "attempts", "done_at", "failed_at"]


@admin.register(Bringing)
class BringingAdmin(ReadOnlyAdmin):
    """Files brought."""

    list_display = ["file_name", "kind", "asked_at", "kept_at", "undone_at"]
    exclude = ["content"]


@admin.register(BookExport)
class BookExportAdmin(ReadOnlyAdmin):
    """Exports of the book."""

    list_display = ["asked_at", "asked_by", "done_at", "gone_at"]


@admin.register(ClientLink)
class ClientLinkAdmin(ReadOnlyAdmin):
    """Clients' links."""

    list_display = ["client", "made_at", "expires_at", "revoked_at"]


@admin.register(PriceRule)
class PriceRuleAdmin(ReadOnlyAdmin):
    """Prices."""

    list_display = ["by", "amount", "client", "property", "rotation", "from_day", "until_day"]


@admin.register(CostRate)
class CostRateAdmin(ReadOnlyAdmin):
    """What hours and miles cost."""

    list_display = ["of", "amount", "from_day"]


@admin.register(TaxRate)
class TaxRateAdmin(ReadOnlyAdmin):
    """Taxes."""

    list_display = ["name", "jurisdiction", "county", "percent", "falls_on", "from_day"]


@admin.register(Statement)
class StatementAdmin(ReadOnlyAdmin):
    """Statements."""

    list_display = ["number", "client_name", "first_day", "last_day", "total", "given_at"]


@admin.register(Payment)
class PaymentAdmin(ReadOnlyAdmin):
    """Payments."""

    list_display = ["client", "day", "amount", "way"]


@admin.register(ChargeCorrection)
class ChargeCorrectionAdmin(ReadOnlyAdmin):
    """Corrections of charges."""

    list_display = ["client", "day", "amount", "words"]


@admin.register(Estimate)
class EstimateAdmin(ReadOnlyAdmin):
    """Estimates."""

    list_display = ["number", "property", "rotation", "valid_until", "total", "course"]
    exclude = ["paper"]
