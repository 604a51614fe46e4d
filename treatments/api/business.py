"""How the business is called on every paper."""

from drf_spectacular.utils import extend_schema
from rest_framework import viewsets
from rest_framework.response import Response

from clients.access import Role
from clients.permissions import ByRole
from treatments.api.keeping import CleanSerializer
from treatments.forms.people import BusinessForm
from treatments.models import Business

OWNER = frozenset({Role.OWNER})


class BusinessSerializer(CleanSerializer):
    """The name, licence and address of the business; what is not sent stays as it was."""

    class Meta:
        model = Business
        fields = BusinessForm.Meta.fields


class BusinessViewSet(viewsets.ViewSet):
    """The business itself; there is one."""

    permission_classes = [ByRole]
    readers = OWNER
    writers = OWNER

    @extend_schema(responses=BusinessSerializer)
    def list(self, request):
        """Return what stands on every paper."""
        return Response(BusinessSerializer(Business.of_this_book()).data)

    @extend_schema(request=BusinessSerializer(partial=True), responses=BusinessSerializer)
    def create(self, request):
        """Say how the business is called from now on."""
        business = Business.of_this_book()
        told = BusinessSerializer(business, data=request.data, partial=business is not None)
        told.is_valid(raise_exception=True)
        return Response(BusinessSerializer(told.save()).data)
