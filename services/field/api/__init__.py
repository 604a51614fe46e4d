"""What the crews' phones ask of the book; every other way in is closed to them."""

from rest_framework.viewsets import ViewSetMixin

from services.field.api.leaving import LeavingViewSet
from services.field.api.packets import PacketViewSet
from services.field.api.photos import PhotoViewSet
from services.field.api.sync import SyncViewSet

ROUTES: list[tuple[str, type[ViewSetMixin]]] = [
    ("packet", PacketViewSet),
    ("sync", SyncViewSet),
    ("photos", PhotoViewSet),
    ("leaving", LeavingViewSet),
]
