"""The API's addresses: what each app offers in its ROUTES, under /api/v1/."""

from drf_spectacular.extensions import OpenApiSerializerFieldExtension
from rest_framework.routers import DefaultRouter
from rest_framework.viewsets import ViewSetMixin

import clients.api
import services.api
import services.field.api
import services.whole_book.api
import treatments.api

ROUTES: list[tuple[str, type[ViewSetMixin]]] = [
    *clients.api.ROUTES,
    *treatments.api.ROUTES,
    *services.api.ROUTES,
    *services.field.api.ROUTES,
    *services.whole_book.api.ROUTES,
]

router = DefaultRouter()
for prefix, viewset in ROUTES:
    router.register(prefix, viewset, basename=prefix)


class LocalHours(OpenApiSerializerFieldExtension):
    """Tells hours as they are sent: local, which the format "time" of RFC 3339 is not."""

    target_class = "rest_framework.serializers.TimeField"

    def map_serializer_field(self, auto_schema, direction):
        """Return the schema of an hour such as 07:00:00."""
        return {"type": "string", "pattern": r"^\d{2}:\d{2}(:\d{2}(\.\d+)?)?$"}
