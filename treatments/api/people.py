"""Who applies, with which certificates, and with which sprayers."""

from django.db import transaction
from django.utils import timezone

from clients.access import OFFICE, STAFF
from treatments.api.keeping import BookViewSet, CleanSerializer, CodesField
from treatments.forms.people import ApplicatorForm, CertificateForm
from treatments.licensing import certificate_changed, licence_changed
from treatments.models import Applicator, Certificate, Sprayer


class ApplicatorSerializer(CleanSerializer):
    """A person who applies."""

    class Meta:
        model = Applicator
        fields = ["id", *ApplicatorForm.Meta.fields]


class ApplicatorViewSet(BookViewSet):
    """Applicators."""

    readers = STAFF
    writers = OFFICE
    queryset = Applicator.objects.all()
    serializer_class = ApplicatorSerializer

    def perform_update(self, serializer):
        licence_changed(serializer.save(), by=self.request.user)


class CertificateSerializer(CleanSerializer):
    """A certificate of an applicator."""

    categories = CodesField(required=False)

    class Meta:
        model = Certificate
        fields = ["id", "applicator", *CertificateForm.Meta.fields]


class CertificateViewSet(BookViewSet):
    """Certificates."""

    readers = STAFF
    writers = OFFICE
    queryset = Certificate.objects.all()
    serializer_class = CertificateSerializer

    @transaction.atomic
    def perform_create(self, serializer):
        certificate_changed(serializer.save(), by=self.request.user, at=timezone.now())

    @transaction.atomic
    def perform_update(self, serializer):
        certificate_changed(serializer.save(), by=self.request.user, at=timezone.now())


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
