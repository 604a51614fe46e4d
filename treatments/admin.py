"""Products, people and pests in the owner's emergency desk; records and ledger to read only."""

from django.contrib import admin
from django.utils import timezone

from treatments.licensing import certificate_changed
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    Applicator,
    Business,
    Calibration,
    Certificate,
    EarlierApplication,
    FitTest,
    KeptPaper,
    LabelRate,
    Lot,
    Pest,
    Product,
    ProductIngredient,
    ProtectionIssued,
    Rotation,
    RotationWeek,
    ScoutingCount,
    Sprayer,
    StockEntry,
)


class ReadOnlyAdmin(admin.ModelAdmin):
    """What may be read and is never added, changed or removed by hand."""

    def has_add_permission(self, request):
        return False

    def has_change_permission(self, request, obj=None):
        return False

    def has_delete_permission(self, request, obj=None):
        return False


@admin.register(ApplicationRecord)
class ApplicationRecordAdmin(ReadOnlyAdmin):
    """Application records."""

    list_display = ["number", "done_at", "product_name", "site_description", "void"]
    search_fields = ["number", "product_name", "customer_name", "lot_number"]


@admin.register(EarlierApplication)
class EarlierApplicationAdmin(ReadOnlyAdmin):
    """What was taken over from elsewhere."""

    list_display = ["applied_on", "product_name", "planting", "taken_from"]
    list_select_related = ["planting__property"]


@admin.register(StockEntry)
class StockEntryAdmin(ReadOnlyAdmin):
    """Lines of the ledger."""

    list_display = ["lot", "kind", "amount", "happened_at"]
    list_select_related = ["lot__product"]


@admin.register(Rotation)
class RotationAdmin(ReadOnlyAdmin):
    """Rotations, which are composed on their page, where they are checked."""

    list_display = ["name", "pest", "retired"]


@admin.register(RotationWeek)
class RotationWeekAdmin(ReadOnlyAdmin):
    """Weeks of rotations."""

    list_display = ["rotation", "week", "step", "product"]
    list_select_related = ["rotation", "product"]


class ContentRows(admin.TabularInline):
    """Ingredients under their product."""

    model = ProductIngredient
    extra = 0


class RateRows(admin.TabularInline):
    """Rates under their product."""

    model = LabelRate
    extra = 0


@admin.register(Product)
class ProductAdmin(admin.ModelAdmin):
    """Products."""

    list_display = ["name", "epa_registration_number", "kind"]
    search_fields = ["name", "epa_registration_number"]
    inlines = [ContentRows, RateRows]


class CertificateRows(admin.TabularInline):
    """Certificates under who holds them."""

    model = Certificate
    extra = 0
    can_delete = False


@admin.register(Applicator)
class ApplicatorAdmin(admin.ModelAdmin):
    """Applicators."""

    list_display = ["name", "supervisor"]
    inlines = [CertificateRows]

    def save_formset(self, request, form, formset, change):
        """Save certificates, and write each that changed into the journal."""
        for certificate in formset.save():
            certificate_changed(certificate, by=request.user, at=timezone.now())


@admin.register(KeptPaper)
class KeptPaperAdmin(ReadOnlyAdmin):
    """Papers, which are handed in and removed on their pages."""

    list_display = ["name", "kind", "product", "applicator", "kept_at"]
    list_select_related = ["product", "applicator"]


admin.site.register([ActiveIngredient, Business, Calibration, Lot, Pest, ScoutingCount, Sprayer])
admin.site.register([FitTest, ProtectionIssued])
