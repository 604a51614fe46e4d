"""The API's addresses: what each app offers in its ROUTES, under /api/v1/."""

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
