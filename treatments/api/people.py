"""Who applies, with which certificates, and with which sprayers."""

from django.db import transaction
from django.utils import timezone

from clients.access import OFFICE, STAFF
from treatments.api.keeping import BookViewSet, CleanSerializer, CodesField
from treatments.journaling import journal_certificate
from treatments.models import Applicator, Certificate, Sprayer


class ApplicatorSerializer(CleanSerializer):
    """A person who applies."""

    class Meta:
        model = Applicator
        fields = ["id", "user", "name", "phone", "supervisor", "trained_on", "trainer"]


class ApplicatorViewSet(BookViewSet):
    """Applicators."""

    readers = STAFF
    writers = OFFICE
    queryset = Applicator.objects.all()
    serializer_class = ApplicatorSerializer


class CertificateSerializer(CleanSerializer):
    """A certificate of an applicator."""

    categories = CodesField(required=False)

    class Meta:
        model = Certificate
        fields = [
            "id",
            "applicator",
            "number",
            "jurisdiction",
            "categories",
            "issued_on",
            "expires_on",
        ]


class CertificateViewSet(BookViewSet):
    """Certificates."""

    readers = STAFF
    writers = OFFICE
    queryset = Certificate.objects.all()
    serializer_class = CertificateSerializer

    @transaction.atomic
    def perform_create(self, serializer):
        journal_certificate(serializer.save(), by=self.request.user, at=timezone.now())

    @transaction.atomic
    def perform_update(self, serializer):
        journal_certificate(serializer.save(), by=self.request.user, at=timezone.now())


class SprayerSerializer(CleanSerializer):
    """A sprayer."""

    class Meta:
        model = Sprayer
        fields = ["id", "name", "kind", "tank_gallons", "has_agitation", "reach_ft", "retired"]


class SprayerViewSet(BookViewSet):
    """Sprayers."""

    writers = STAFF
    queryset = Sprayer.objects.all()
    serializer_class = SprayerSerializer
