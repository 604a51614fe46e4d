"""What the crews' phones ask of the book, and what the office decides of what they said.

Every other way in is closed to phones.
"""

from rest_framework.viewsets import ViewSetMixin

from services.field.api.leaving import LeavingViewSet
from services.field.api.packets import PacketViewSet
from services.field.api.photos import PhotoViewSet
from services.field.api.reviewing import FieldPhotoViewSet, FieldReportViewSet
from services.field.api.sync import SyncViewSet

ROUTES: list[tuple[str, type[ViewSetMixin]]] = [
    ("packet", PacketViewSet),
    ("sync", SyncViewSet),
    ("photos", PhotoViewSet),
    ("leaving", LeavingViewSet),
    ("field-reports", FieldReportViewSet),
    ("field-photos", FieldPhotoViewSet),
]
