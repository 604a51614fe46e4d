"""What any Django program must do to show the rows that our pages and API show: nothing else.

Addresses of bare views; they run behind the middleware that a new Django project begins with.
"""

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.template import Context, Engine
from django.urls import path
from rest_framework import authentication, generics, permissions, serializers
from rest_framework.renderers import JSONRenderer

from services.models import Visit
from services.project.paging import Pages
from treatments.api.records import COLUMNS
from treatments.models import ApplicationRecord

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ENGINE = Engine()
RECORDS = ENGINE.from_string(
    """<!doctype html><title>Records</title><table>{% for record in rows %}<tr>
<th><a href="/records/{{ record.number }}/">{{ record.number }}</a></th>
<td>{{ record.done_at|date:"Y-m-d" }}<small>{{ record.done_at|date:"H:i T" }}</small></td>
<td>{{ record.planting.property.name }}<small>{{ record.planting.name }}</small></td>
<td>{{ record.product_name }}<small>{{ record.epa_registration_number }} · {{ record.lot_number }}
</small></td>
<td>{{ record.product_amount.normalize }} {{ record.product_unit }}</td>
<td>{{ record.applicator_name }}</td>
<td>{{ record.void }}{{ record.amended_by.number }}{{ record.amends.number }}
<small>{{ record.received_at|date:"Y-m-d H:i" }}</small></td></tr>{% endfor %}</table>"""
)
WEEK = ENGINE.from_string(
    """<!doctype html><title>Week</title><table>{% for visit in rows %}<tr>
<th><a href="/courses/{{ visit.course_id }}/">{{ visit.course.property.client.name }}</a>
<small>{% for planting in visit.course.plantings.all %}{{ planting.name }}{% endfor %}
({{ visit.course.property.name }})</small></th>
<td>{{ visit.rotation_week.product.name }}<small>{% for each in visit.contents %}{{ each }}
{% endfor %}</small></td>
{% for day in days %}<td>{% if day == visit.planned.day %}planned{% endif %}</td>{% endfor %}
<td>{{ visit.get_state_display }} {{ visit.earliest|date:"Y-m-d" }} {{ visit.latest|date:"Y-m-d" }}
</td></tr>{% endfor %}</table>"""
)


@login_required
def records(request):
    """Show fifty records."""
    found = ApplicationRecord.objects.select_related("planting__property", "amended_by", "amends")
    rows = found.order_by("-done_at", "-number")[:50]
    return HttpResponse(RECORDS.render(Context({"rows": rows})))


@login_required
def week(request):
    """Show the visits of a week."""
    found = Visit.objects.select_related(
        "course__property__client", "course__rotation", "rotation_week__product"
    ).prefetch_related("course__plantings", "rotation_week__product__contents__ingredient")
    rows = list(found.filter(earliest__lte="2026-07-12", latest__gte="2026-07-06"))
    for visit in rows:
        contents = visit.rotation_week.product.contents.all()
        visit.contents = [each.ingredient.irac_group for each in contents]
    days = [6, 7, 8, 9, 10, 11]
    return HttpResponse(WEEK.render(Context({"rows": rows, "days": days})))


class RecordSerializer(serializers.ModelSerializer):
    """The columns of a record."""

    amended_by = serializers.SlugRelatedField(slug_field="number", read_only=True)
    amends = serializers.SlugRelatedField(slug_field="number", read_only=True)

    class Meta:
        model = ApplicationRecord
        fields = [*COLUMNS, "amended_by"]
        read_only_fields = fields


class Records(generics.ListAPIView):
    """Fifty records, as REST framework lists them."""

    authentication_classes = [authentication.SessionAuthentication]
    permission_classes = [permissions.IsAuthenticated]
    throttle_classes = []
    renderer_classes = [JSONRenderer]
    pagination_class = Pages
    queryset = ApplicationRecord.objects.select_related("amended_by", "amends").order_by(
        "-done_at", "-number"
    )
    serializer_class = RecordSerializer


urlpatterns = [
    path("records/", records),
    path("week/", week),
    path("api/records/", Records.as_view()),
]
