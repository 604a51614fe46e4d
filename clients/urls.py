"""The addresses of the pages of clients."""

app_name = "clients"

urlpatterns = []
