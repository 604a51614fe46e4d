"""What opens a part of the book from outside: clients' links, crews' calendars, phones.

A secret is answered once, when it is made; the book keeps its digest alone.
"""

from django.conf import settings
from django.contrib.auth import get_user_model
from django.urls import reverse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CREW, OFFICE, Role
from clients.models import Client
from services import devices, telling
from services.models import ClientLink, Crew, CrewFeed, Device
from treatments.api.keeping import PEOPLE, ByRoleViewSet

OWNER = frozenset({Role.OWNER})


@extend_schema_field(OpenApiTypes.INT)
class ClientField(serializers.PrimaryKeyRelatedField):
    """A client that the person may see."""

    def get_queryset(self):
        return Client.objects.for_user(self.context["request"].user)


class LinkSerializer(serializers.ModelSerializer):
    """A link that opens a client's page."""

    client = ClientField(queryset=None)

    class Meta:
        model = ClientLink
        fields = ["id", "client", "made_at", "expires_at", "revoked_at"]
        read_only_fields = ["made_at", "expires_at", "revoked_at"]


class NewLinkSerializer(LinkSerializer):
    """A link that was just made, with its address."""

    address = serializers.CharField(read_only=True)

    class Meta(LinkSerializer.Meta):
        fields = [*LinkSerializer.Meta.fields, "address"]


class FeedSerializer(serializers.ModelSerializer):
    """An address at which a crew's calendar is read."""

    class Meta:
        model = CrewFeed
        fields = ["id", "crew", "made_at", "made_by", "read_at", "revoked_at"]
        read_only_fields = ["made_at", "made_by", "read_at", "revoked_at"]


class NewFeedSerializer(FeedSerializer):
    """A calendar that was just made, with its addresses: as events, and as things to be done."""

    events = serializers.CharField(read_only=True)
    tasks = serializers.CharField(read_only=True)

    class Meta(FeedSerializer.Meta):
        fields = [*FeedSerializer.Meta.fields, "events", "tasks"]


class PhoneSerializer(serializers.ModelSerializer):
    """A phone of one person, and how it stood when it was last heard of."""

    person = serializers.PrimaryKeyRelatedField(
        queryset=get_user_model().objects.filter(is_active=True, groups__name__in=CREW)
    )

    class Meta:
        model = Device
        fields = [
            "id",
            "person",
            "name",
            "made_at",
            "code_ends_at",
            "enrolled_at",
            "last_contact_at",
            "unsent",
            "oldest_unsent_at",
            "revoked_at",
        ]
        read_only_fields = [name for name in fields if name not in ("person", "name")]


class NewPhoneSerializer(PhoneSerializer):
    """A phone that waits to be enrolled, with its code and the address that takes it."""

    code = serializers.CharField(read_only=True)
    address = serializers.CharField(read_only=True)

    class Meta(PhoneSerializer.Meta):
        fields = [*PhoneSerializer.Meta.fields, "code", "address"]


class OpenedViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Things that are made, read, and taken back."""

    readers = OFFICE
    writers = OFFICE

    def asked(self) -> dict:
        """Return what was sent, checked."""
        asked = self.get_serializer(data=self.request.data)
        asked.is_valid(raise_exception=True)
        return asked.validated_data

    def made(self, kind, thing, **secrets) -> Response:
        """Answer with what was made and its secrets, this once."""
        told = kind(thing, context=self.get_serializer_context()).data
        return Response({**told, **secrets}, status.HTTP_201_CREATED)

    def shown(self) -> Response:
        """Answer with a thing as it stands now."""
        return Response(self.get_serializer(self.get_object()).data)


class ClientLinkViewSet(OpenedViewSet):
    """Links of clients."""

    queryset = ClientLink.objects.all()
    serializer_class = LinkSerializer

    @extend_schema(request=LinkSerializer, responses={201: NewLinkSerializer})
    def create(self, request):
        """Make a link for a client."""
        client = self.asked()["client"]
        token = telling.make_link(client, now=timezone.now())
        address = settings.ADDRESS + reverse("services:open_link", args=[token])
        link = client.links.get(digest=ClientLink.digest_of(token))
        return self.made(LinkSerializer, link, address=address)

    @extend_schema(request=None, responses=LinkSerializer)
    @action(detail=True, methods=["post"])
    def revoke(self, request, pk):
        """Take a link back; twice does it once."""
        telling.revoke_link(self.get_object(), at=timezone.now())
        return self.shown()


class CrewFeedViewSet(OpenedViewSet):
    """Calendars of crews."""

    queryset = CrewFeed.objects.all()
    serializer_class = FeedSerializer

    @extend_schema(request=FeedSerializer, responses={201: NewFeedSerializer})
    def create(self, request):
        """Make an address for a crew's calendar."""
        crew: Crew = self.asked()["crew"]
        token = telling.make_feed(crew, by=request.user, now=timezone.now())
        addresses = {
            name: settings.ADDRESS + reverse(f"services:feed_of_{name}", args=[token])
            for name in ("events", "tasks")
        }
        feed = crew.feeds.get(digest=ClientLink.digest_of(token))
        return self.made(FeedSerializer, feed, **addresses)

    @extend_schema(request=None, responses=FeedSerializer)
    @action(detail=True, methods=["post"])
    def revoke(self, request, pk):
        """Take an address back; twice does it once."""
        telling.revoke_feed(self.get_object(), at=timezone.now())
        return self.shown()


class PhoneViewSet(OpenedViewSet):
    """The crews' phones."""

    scope = PEOPLE
    queryset = Device.objects.all()
    serializer_class = PhoneSerializer

    def get_permissions(self):
        """Let the owner alone make codes."""
        if self.action == "create":
            self.writers = OWNER
        return super().get_permissions()

    @extend_schema(request=PhoneSerializer, responses={201: NewPhoneSerializer})
    def create(self, request):
        """Make a code that enrols a phone for a person, once."""
        told, now = self.asked(), timezone.now()
        device, code = devices.make_code(**told, by=request.user, now=now)
        address = settings.ADDRESS + reverse("services:enrol_by_code", args=[code])
        return self.made(PhoneSerializer, device, code=code, address=address)

    @extend_schema(request=None, responses=PhoneSerializer)
    @action(detail=True, methods=["post"])
    def revoke(self, request, pk):
        """Take a phone back; twice does it once."""
        devices.revoke(self.get_object(), by=request.user, at=timezone.now())
        return self.shown()
