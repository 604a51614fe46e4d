"""Clients, properties and plantings in the owner's emergency desk."""

from django.contrib import admin

from clients.models import AccessWindow, Client, Neighbour, Planting, Property


class AccessWindowRows(admin.TabularInline):
    """Access windows under their property."""

    model = AccessWindow
    extra = 0


class NeighbourRows(admin.TabularInline):
    """Neighbours under their property."""

    model = Neighbour
    extra = 0


@admin.register(Client)
class ClientAdmin(admin.ModelAdmin):
    """Clients."""

    list_display = ["name", "email", "phone", "language"]
    search_fields = ["name", "email"]


@admin.register(Property)
class PropertyAdmin(admin.ModelAdmin):
    """Properties."""

    list_display = ["name", "client", "jurisdiction"]
    search_fields = ["name", "client__name", "street"]
    inlines = [AccessWindowRows, NeighbourRows]


@admin.register(Planting)
class PlantingAdmin(admin.ModelAdmin):
    """Plantings."""

    list_display = ["name", "property", "plant_group"]
    search_fields = ["name", "property__name"]
