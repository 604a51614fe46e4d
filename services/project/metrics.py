"""Figures for Prometheus, in its text format, for who sends the token of the settings.

Requests are counted in this process, or for several of them in the folder that
PROMETHEUS_MULTIPROC_DIR names; everything else is asked of the tables when somebody looks.
Nothing of this is imported where no token is set.
"""

from itertools import groupby
from time import perf_counter

from django.conf import settings
from django.db import Error
from django.db.models.signals import post_save
from django.http import HttpResponse
from django.utils import timezone
from prometheus_client import REGISTRY, CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4
from prometheus_client.multiprocess import MultiProcessCollector

from services.models import FieldEvent
from services.project.health import migrations_waiting
from services.watching import figures

PREFIX = "duskbook_"
REQUESTS = Counter(PREFIX + "requests", "Requests.", ["address", "method", "status"])
SECONDS = Histogram(
    PREFIX + "request_seconds",
    "How long a request took.",
    ["address"],
    buckets=(0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10),
)
EVENTS = Counter(PREFIX + "phone_events", "What phones said, by what was answered.", ["result"])
METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}


class RequestsCounted:
    """Counts requests by the name of their address, which holds no one's number and no secret."""

    def __init__(self, get_response):
        self.get_response = get_response
        post_save.connect(count_event, sender=FieldEvent, dispatch_uid="phone events counted")

    def __call__(self, request):
        start = perf_counter()
        response = self.get_response(request)
        found = request.resolver_match
        address = (found.view_name if found else "") or "none"
        method = request.method if request.method in METHODS else "other"
        REQUESTS.labels(address, method, response.status_code).inc()
        SECONDS.labels(address).observe(perf_counter() - start)
        return response


def count_event(instance, **_told):
    """Count what a phone said once its answer is kept; a repeat is not kept again."""
    EVENTS.labels(instance.result).inc()


class FromTheBook:
    """Asks the tables when it is asked."""

    def collect(self):
        """Yield the families; where the database does not answer, that alone."""
        try:
            waiting = migrations_waiting()
            found = [] if waiting else list(figures(timezone.now()))
        except Error:
            yield family("database_answers", "Whether the database does.", [((), 0)])
            return
        yield family("database_answers", "Whether the database does.", [((), 1)])
        yield family("migrations_waiting", "Migrations not had yet.", [((), waiting)])
        found.sort(key=lambda figure: figure.name)
        for name, group in groupby(found, key=lambda figure: figure.name):
            same = list(group)
            yield family(name, same[0].what, [(each.labels, each.value) for each in same])


def family(name, what, values):
    """Return one family of gauges; values: labels and value of each."""
    gauges = GaugeMetricFamily(PREFIX + name, what, labels=[key for key, _ in values[0][0]])
    for labels, value in values:
        gauges.add_metric([text for _, text in labels], value)
    return gauges


def told():
    """Return all figures as Prometheus reads them."""
    book = CollectorRegistry(auto_describe=False)
    book.register(FromTheBook())
    counted = REGISTRY
    if settings.METRICS_FOLDER:
        counted = CollectorRegistry()
        MultiProcessCollector(counted, path=settings.METRICS_FOLDER)
    text = generate_latest(counted) + generate_latest(book)
    return HttpResponse(text, content_type=CONTENT_TYPE_PLAIN_0_0_4)
