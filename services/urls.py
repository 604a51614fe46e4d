"""The addresses of the pages of services."""

app_name = "services"

urlpatterns = []
