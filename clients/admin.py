"""The owner's desk for emergencies: clients, properties and plantings.

Nothing is removed here: what is removed has consequences that only its page keeps.
"""

from django.contrib import admin
from django.utils.translation import gettext_lazy as _

from clients.models import AccessWindow, Client, Neighbour, Planting, Property

admin.site.site_header = admin.site.site_title = "Duskbook"
admin.site.index_title = _("For emergencies: what no page can put right")

ROWS = 50


class DeskAdmin(admin.ModelAdmin):
    """What may be added and changed by hand, and is removed on its page alone."""

    list_per_page = ROWS
    show_full_result_count = False

    def has_delete_permission(self, request, obj=None):
        return False


class ReadOnlyAdmin(DeskAdmin):
    """What may be read and is never added, changed or removed by hand."""

    def has_add_permission(self, request):
        return False

    def has_change_permission(self, request, obj=None):
        return False


class VersionedAdmin(DeskAdmin):
    """What has a version, so that nobody who read it before overwrites what the desk changed."""

    readonly_fields = ("version",)

    def save_model(self, request, obj, form, change):
        """Save it as the next version."""
        obj.version += change
        super().save_model(request, obj, form, change)


class AccessWindowRows(admin.TabularInline):
    """Access windows under their property."""

    model = AccessWindow
    extra = 0


class NeighbourRows(admin.TabularInline):
    """Neighbours under their property."""

    model = Neighbour
    extra = 0


@admin.register(Client)
class ClientAdmin(VersionedAdmin):
    """Clients."""

    list_display = ("name", "email", "phone", "language", "organic_only")
    list_filter = ("language", "organic_only", "wants_notice")
    search_fields = ("name", "email")


@admin.register(Property)
class PropertyAdmin(VersionedAdmin):
    """Properties."""

    list_display = ("name", "client", "city", "jurisdiction")
    list_filter = ("jurisdiction",)
    list_select_related = ("client",)
    search_fields = ("name", "client__name", "street")
    inlines = (AccessWindowRows, NeighbourRows)


@admin.register(Planting)
class PlantingAdmin(VersionedAdmin):
    """Plantings."""

    list_display = ("name", "property", "common_name", "plant_group", "habit")
    list_filter = ("plant_group", "habit", "edible")
    list_select_related = ("property",)
    search_fields = ("name", "common_name", "property__name")
