"""The API's addresses: what each app offers in its ROUTES, under /api/v1/."""

from rest_framework.routers import DefaultRouter

import clients.api
import services.api
import treatments.api

router = DefaultRouter()
for routes in (clients.api.ROUTES, treatments.api.ROUTES, services.api.ROUTES):
    for prefix, viewset in routes:
        router.register(prefix, viewset, basename=prefix)
