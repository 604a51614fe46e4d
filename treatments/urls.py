"""The addresses of the pages of treatments."""

app_name = "treatments"

urlpatterns = []
