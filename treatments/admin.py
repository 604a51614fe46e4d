"""Products, people and pests in the owner's emergency desk; what is kept for good is read only."""

from django.contrib import admin
from django.utils import timezone

from clients.admin import DeskAdmin, ReadOnlyAdmin, VersionedAdmin
from treatments.licensing import certificate_changed, licence_changed
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    Applicator,
    Business,
    Calibration,
    Certificate,
    Checkpoint,
    CopyGiven,
    Correction,
    CorrectionAnswer,
    Disposal,
    EarlierApplication,
    EntryDisposal,
    FactConfirmed,
    FitTest,
    InspectorGrant,
    InspectorLook,
    JournalEntry,
    KeptPaper,
    LabelRate,
    LeftoverNote,
    Lot,
    OwnRuleSet,
    OwnSign,
    Pest,
    Product,
    ProductIngredient,
    ProtectionIssued,
    RecordSigned,
    ReturnFiled,
    Rotation,
    RotationWeek,
    RuleChoice,
    ScoutingCount,
    SignConfirmed,
    SignTakenDown,
    SpillNote,
    Sprayer,
    StockEntry,
    WaterTest,
    WeatherStation,
)


class ContentRows(admin.TabularInline):
    """Ingredients under their product."""

    model = ProductIngredient
    extra = 0


class RateRows(admin.TabularInline):
    """Rates under their product."""

    model = LabelRate
    extra = 0


class CertificateRows(admin.TabularInline):
    """Certificates under who holds them."""

    model = Certificate
    extra = 0
    can_delete = False


class WeekRows(admin.TabularInline):
    """Weeks under their rotation."""

    model = RotationWeek


@admin.register(Product)
class ProductAdmin(VersionedAdmin):
    """Products."""

    list_display = ("name", "epa_registration_number", "kind", "signal_word", "restricted_use")
    list_filter = ("kind", "signal_word", "restricted_use", "organic_listed")
    search_fields = ("name", "epa_registration_number")
    inlines = (ContentRows, RateRows)


@admin.register(Applicator)
class ApplicatorAdmin(DeskAdmin):
    """Applicators."""

    list_display = ("name", "user", "supervisor", "phone")
    list_select_related = ("user", "supervisor")
    search_fields = ("name",)
    inlines = (CertificateRows,)

    def save_model(self, request, obj, form, change):
        """Save a person, whose licence holds anew at once."""
        super().save_model(request, obj, form, change)
        licence_changed(obj, by=request.user)

    def save_formset(self, request, form, formset, change):
        """Save certificates, and write each that changed into the journal."""
        for certificate in formset.save():
            certificate_changed(certificate, by=request.user, at=timezone.now())


@admin.register(JournalEntry)
class JournalEntryAdmin(ReadOnlyAdmin):
    """Entries of the journal."""

    list_display = ("seq", "entry_id")
    ordering = ("-seq",)
    fields = ("seq", "entry_id", "body")


# What may be changed by hand: the columns, what is searched and what is sifted.
CHANGED = {
    ActiveIngredient: ("name irac_group frac_group bee_hazard", "name", "bee_hazard"),
    Business: ("name licence_number city region", "", ""),
    FitTest: ("applicator respirator tested_on passed", "applicator__name", "passed"),
    Pest: ("common_name scientific_name eppo_code threshold", "common_name scientific_name", ""),
    ProtectionIssued: ("applicator item pieces issued_on replace_by", "applicator__name item", ""),
    Sprayer: ("name kind tank_gallons reach_ft retired", "name", "kind retired"),
    WeatherStation: ("name latitude longitude", "name", ""),
}
# What is read only; the same.
READ = {
    ApplicationRecord: (
        "number done_at product_name site_description applicator_name void",
        "number product_name customer_name lot_number",
        "void",
    ),
    Calibration: ("sprayer person calibrated_on gallons_per_1000_sq_ft expires_on", "", "method"),
    Checkpoint: ("size made_at", "", ""),
    CopyGiven: ("record given_on way given_by", "record__number", "way"),
    Correction: ("record void asked_by asked_at reason", "record__number", "void"),
    CorrectionAnswer: ("correction agreed answered_by answered_at", "", "agreed"),
    Disposal: ("record keep_until disposed_on disposed_by", "", ""),
    EarlierApplication: ("applied_on product_name planting taken_from", "product_name", ""),
    EntryDisposal: ("noun number keep_until disposed_on disposed_by", "number", "noun"),
    FactConfirmed: ("ruleset fact compared_on confirmed_by", "", "ruleset"),
    InspectorGrant: ("inspector purpose starts_at ends_at ended_at", "purpose", ""),
    InspectorLook: ("at inspector address", "address", ""),
    KeptPaper: ("name kind product applicator kept_at", "name", "kind"),
    LeftoverNote: ("happened_on kind product gallons noted_by", "product__name", "kind"),
    Lot: ("product lot_number received_on expires_on", "product__name lot_number", ""),
    OwnRuleSet: ("jurisdiction number name valid_from entered_by", "name", "jurisdiction"),
    OwnSign: ("jurisdiction citation compared_on entered_by", "citation", "jurisdiction"),
    RecordSigned: ("record signer_name certificate_number signed_at", "signer_name", ""),
    ReturnFiled: ("jurisdiction first_day filed_on filed_by", "", "jurisdiction"),
    RuleChoice: ("jurisdiction uses holds_from chosen_by", "", "jurisdiction"),
    ScoutingCount: ("scouted_at planting pest leaves_looked_at leaves_infested", "", "pest"),
    SignConfirmed: ("jurisdiction confirmed_by confirmed_at", "", "jurisdiction"),
    SignTakenDown: ("property posted_at taken_down_at taken_down_by", "property__name", ""),
    SpillNote: ("happened_at place product amount reached_water", "place product__name", "what"),
    StockEntry: ("happened_at lot kind amount locker entered_by", "lot__lot_number", "kind"),
    WaterTest: ("planting tested_on water_amount tested_by", "planting__name", ""),
}


def register(kinds, desk):
    """Register kinds of things with what their lists show, search and sift."""
    for kind, words in kinds.items():
        shown, searched, sifted = (each.split() for each in words)
        told = {"list_display": shown, "search_fields": searched, "list_filter": sifted}
        named = {field.name for field in kind._meta.fields if field.is_relation}
        admin.site.register(kind, desk, list_select_related=sorted(named & set(shown)), **told)


register(CHANGED, DeskAdmin)
register(READ, ReadOnlyAdmin)
admin.site.register(
    Rotation,
    ReadOnlyAdmin,
    list_display=["name", "pest", "plant_group", "is_draft", "retired"],
    list_filter=["plant_group", "is_draft", "retired"],
    search_fields=["name"],
    inlines=[WeekRows],
)
