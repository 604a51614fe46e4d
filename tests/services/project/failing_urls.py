"""An address that fails with something private in its hands."""

from django.urls import path


def fail(request, token):
    held = request.POST.dict() | {"token": token}
    raise LookupError(f"{held} of {request.user.email} is lost")


urlpatterns = [path("c/<str:token>", fail)]
