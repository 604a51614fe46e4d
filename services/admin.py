"""People, yards, crews and trucks in the owner's emergency desk; the schedule to read only.

Courses, visits, holds and dispatches change by their actions, which keep days and loads right;
roles change on the page of people, which writes them into the journal.
"""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group, User

from clients.admin import DeskAdmin, ReadOnlyAdmin
from services.models import (
    AskedPackage,
    BookExport,
    Bringing,
    ChargeCorrection,
    Check,
    ClientLink,
    ContactAttempt,
    CostRate,
    Course,
    Crew,
    CrewFeed,
    DayAsked,
    Device,
    Dispatch,
    Estimate,
    EstimateAnswer,
    EstimateWeek,
    FieldEvent,
    FieldPhoto,
    Hold,
    Hook,
    LoadLine,
    Outbox,
    Payment,
    Planning,
    PriceRule,
    ProgramKey,
    Statement,
    StatementLine,
    TaxRate,
    Technician,
    Truck,
    Visit,
    Yard,
)
from treatments.admin import register

admin.site.unregister([Group, User])


@admin.register(User)
class PersonAdmin(UserAdmin):
    """Who signs in: added, given a role and let go on the page of people."""

    list_display = ("username", "first_name", "last_name", "is_active", "last_login")
    list_filter = ("is_active", "groups")
    readonly_fields = ("groups", "last_login", "date_joined")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        (None, {"fields": ("first_name", "last_name", "email")}),
        (None, {"fields": ("is_active", "is_staff", "is_superuser", "groups")}),
        (None, {"fields": ("last_login", "date_joined")}),
    )

    def has_add_permission(self, request):
        return False

    def has_delete_permission(self, request, obj=None):
        return False


class StatementRows(admin.TabularInline):
    """Lines under their statement."""

    model = StatementLine
    fields = ("place_in_order", "day", "words", "amount")


class LoadRows(admin.TabularInline):
    """What is on the truck under its dispatch."""

    model = LoadLine


class EstimateRows(admin.TabularInline):
    """Weeks under their estimate."""

    model = EstimateWeek


@admin.register(Truck)
class TruckAdmin(DeskAdmin):
    """Trucks."""

    list_display = ("name", "crew", "water_gallons")
    list_select_related = ("crew",)
    search_fields = ("name",)
    filter_horizontal = ("sprayers",)


@admin.register(Visit)
class VisitAdmin(ReadOnlyAdmin):
    """Visits."""

    list_display = ("course", "planned", "earliest", "latest", "state", "dispatch")
    list_select_related = ("course__property", "course__rotation", "dispatch__crew")
    list_filter = ("state",)
    search_fields = ("course__property__name",)


@admin.register(Dispatch)
class DispatchAdmin(ReadOnlyAdmin):
    """Dispatches."""

    list_display = ("day", "crew", "made_at", "made_by")
    list_filter = ("crew",)
    list_select_related = ("crew", "made_by")
    inlines = (LoadRows,)


@admin.register(Statement)
class StatementAdmin(ReadOnlyAdmin):
    """Statements."""

    list_display = ("number", "client_name", "first_day", "last_day", "total", "given_at")
    search_fields = ("number", "client_name")
    inlines = (StatementRows,)


@admin.register(Estimate)
class EstimateAdmin(ReadOnlyAdmin):
    """Estimates."""

    list_display = ("number", "property", "rotation", "valid_until", "total", "course")
    list_select_related = ("property", "rotation", "course__property", "course__rotation")
    search_fields = ("number", "property__name")
    exclude = ("paper",)
    inlines = (EstimateRows,)


# Columns, what is searched and what is sifted, as in treatments/admin.py.
CHANGED = {
    Crew: ("name yard shift_starts shift_ends retired", "name", "yard retired"),
    Technician: ("user crew language phone", "user__username user__last_name", "crew language"),
    Yard: ("name address time_zone", "name", ""),
}
READ = {
    AskedPackage: ("asked_at asked_by parts done_at failed_at", "", ""),
    BookExport: ("asked_at asked_by done_at gone_at size", "", ""),
    Bringing: ("file_name kind asked_at kept_at undone_at", "file_name", "kind"),
    ChargeCorrection: ("client day amount words made_by", "client__name words", "kind"),
    Check: ("day entries faults first_fault", "", ""),
    ClientLink: ("client made_at expires_at revoked_at", "client__name", ""),
    ContactAttempt: ("at name way outcome made_by", "name", "way outcome"),
    CostRate: ("of amount from_day made_by", "", "of"),
    Course: ("property rotation first_day ended_at outcome", "property__name", "outcome"),
    CrewFeed: ("crew made_at read_at revoked_at", "", "crew"),
    DayAsked: ("asked_at visit was_planned day answer", "words", "answer"),
    Device: ("person name enrolled_at last_contact_at revoked_at", "name person__last_name", ""),
    EstimateAnswer: ("estimate answer at", "estimate__number", "answer"),
    FieldEvent: ("received_at kind person result needs_review", "", "kind result needs_review"),
    FieldPhoto: ("event kind size kept_at shows_sign", "", "kind shows_sign"),
    Hold: ("visit reason set_at set_by lifted_at", "note", "reason"),
    Hook: ("name address made_at ended_at", "name address", ""),
    Outbox: ("kind written_at not_before attempts done_at failed_at", "dedupe_key", "kind"),
    Payment: ("client day amount way noted_by", "client__name note", "way"),
    Planning: ("asked_at kind first_day last_day asked_by done_at", "", "kind"),
    PriceRule: ("by amount client property rotation from_day until_day", "client__name", "by"),
    ProgramKey: ("name person made_at expires_on used_at revoked_at", "name", ""),
    TaxRate: ("name jurisdiction county percent falls_on from_day", "name", "jurisdiction"),
}


class ScheduleAdmin(ReadOnlyAdmin):
    """What is read without the digests of keys, which are nobody's business, and without files."""

    exclude = ("digest", "code_digest", "token_digest", "content", "paper", "pdf")


register(CHANGED, DeskAdmin)
register(READ, ScheduleAdmin)
