"""Every address of the program, from the root."""

from django.contrib import admin
from django.contrib.auth import views as accounts
from django.urls import include, path
from django.views.generic import RedirectView
from drf_spectacular.views import SpectacularAPIView

from services.project import errors, health, metrics_door
from services.project.api import router
from services.project.sign_in import SignIn, first_code, sign_in_code

urlpatterns = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("metrics", metrics_door.metrics, name="metrics"),
    path("accounts/login/", SignIn.as_view(), name="login"),
    path("accounts/code/", sign_in_code, name="sign_in_code"),
    path("accounts/first-code/", first_code, name="first_code"),
    path("accounts/logout/", accounts.LogoutView.as_view(), name="logout"),
    path("i18n/", include("django.conf.urls.i18n")),
    # The desk has no door of its own: a password alone would do there.
    path("admin/login/", RedirectView.as_view(pattern_name="login", query_string=True)),
    path("admin/", admin.site.urls),
    path("api/schema/", SpectacularAPIView.as_view(), name="schema"),
    path("api/v1/", include((router.urls, "api"))),
    path("", include("clients.urls")),
    path("", include("treatments.urls")),
    path("", include("services.urls")),
]

handler400 = errors.bad_request
handler403 = errors.forbidden
handler404 = errors.not_found
handler500 = errors.server_error
