"""The addresses of the pages of clients, properties and plantings."""

from django.urls import path

from clients import views

app_name = "clients"

urlpatterns = [
    path("properties/", views.properties, name="properties"),
    path("clients/new/", views.new_client, name="new_client"),
    path("clients/<int:client_id>/", views.client, name="client"),
    path("clients/<int:client_id>/edit/", views.edit_client, name="edit_client"),
    path("clients/<int:client_id>/properties/new/", views.new_property, name="new_property"),
    path("properties/<int:property_id>/edit/", views.edit_property, name="edit_property"),
    path("properties/<int:property_id>/plantings/new/", views.new_planting, name="new_planting"),
    path("plantings/<int:planting_id>/edit/", views.edit_planting, name="edit_planting"),
    path("properties/<int:property_id>/access/", views.access, name="access"),
    path("access/<int:window_id>/remove/", views.remove_access, name="remove_access"),
    path("properties/<int:property_id>/neighbours/", views.neighbours, name="neighbours"),
    path("neighbours/<int:neighbour_id>/remove/", views.remove_neighbour, name="remove_neighbour"),
]
