"""What any Django program must do to show the rows that our pages and API show: nothing else.

The tables have as many rows, cells and marks as ours, and the list has the same fields; nothing of
what they say is worked out.  The views run behind the middleware that a new Django project begins
with, and one of our own that leads to these addresses in place of the program's.
"""

from datetime import date, timedelta

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.template import Context, Engine
from django.urls import path
from rest_framework import authentication, generics, permissions, serializers
from rest_framework.renderers import JSONRenderer

from services.models import Visit
from services.project.paging import Pages
from treatments.api.records import COLUMNS
from treatments.models import ApplicationRecord, RecordSigned


def lead_here(ask):
    """Let a request find the addresses of this file."""

    def answer(request):
        request.urlconf = __name__
        return ask(request)

    return answer


MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    f"{__name__}.lead_here",
]
MONDAY = date(2026, 7, 6)
ENGINE = Engine()
RECORDS = ENGINE.from_string(
    """<!doctype html><title>Records</title><table>
<tr><th>No.</th><th>Completed</th><th>Property</th><th>Product</th><th>Amount</th><th>Who</th>
<th>Clock</th></tr>{% for record in rows %}<tr>
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
    """<!doctype html><title>Week</title><table><tr><th>Client</th><th>Product</th>
{% for day in days %}<th>{{ day|date:"D j" }}</th>{% endfor %}<th>Standing</th></tr>
<tr><th colspan="9">Week 1</th></tr>{% for visit in rows %}<tr id="visit-{{ visit.pk }}">
<th><input type="checkbox" name="visit" value="{{ visit.pk }}" checked
aria-label="Choose {{ visit.course.property.client.name }}">
<a href="/courses/{{ visit.course_id }}/#visit-{{ visit.pk }}">
{{ visit.course.property.client.name }}</a>
<small>{% for planting in visit.course.plantings.all %}{{ planting.name }}{% endfor %}
({{ visit.course.property.name }})</small></th>
<td>{{ visit.rotation_week.product.name }}<small>{% for each in visit.contents %}{{ each }}
{% endfor %}</small></td>
{% for day in days %}
<td class="{% if visit.earliest <= day and day <= visit.latest %}allowed{% endif %}">
{% if day == visit.planned %}<svg class="mark"><circle cx="9" cy="9" r="5"/></svg>
<span>planned</span>{% endif %}</td>{% endfor %}
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
    rows = list(found.filter(planned__range=(MONDAY, MONDAY + timedelta(days=6))))
    for visit in rows:
        contents = visit.rotation_week.product.contents.all()
        visit.contents = [each.ingredient.irac_group for each in contents]
    days = [MONDAY + timedelta(days=place) for place in range(6)]
    return HttpResponse(WEEK.render(Context({"rows": rows, "days": days})))


class SignedSerializer(serializers.ModelSerializer):
    """Who signed a record, and when."""

    class Meta:
        model = RecordSigned
        fields = ["signer_name", "certificate_number", "signed_at"]


class RecordSerializer(serializers.ModelSerializer):
    """The fields that our list gives of a record; what ours works out is a mere value here."""

    amended_by = serializers.SlugRelatedField(slug_field="number", read_only=True, allow_null=True)
    amends = serializers.SlugRelatedField(slug_field="number", read_only=True, allow_null=True)
    signed = SignedSerializer(read_only=True, allow_null=True)
    due_at = serializers.SerializerMethodField()
    missing = serializers.SerializerMethodField()

    class Meta:
        model = ApplicationRecord
        fields = [*COLUMNS, "amended_by", "signed", "due_at", "missing"]
        read_only_fields = fields

    def get_due_at(self, record):
        return record.done_at.isoformat()

    def get_missing(self, record):
        return []


class Records(generics.ListAPIView):
    """Fifty records, as REST framework lists them."""

    authentication_classes = [authentication.SessionAuthentication]
    permission_classes = [permissions.IsAuthenticated]
    throttle_classes = []
    renderer_classes = [JSONRenderer]
    pagination_class = Pages
    queryset = ApplicationRecord.objects.select_related("amended_by", "amends", "signed").order_by(
        "-done_at", "-number"
    )
    serializer_class = RecordSerializer


urlpatterns = [
    path("records/", records),
    path("week/", week),
    path("api/records/", Records.as_view()),
]
