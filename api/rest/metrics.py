"""How is the service doing? ``/metrics`` tells it to a machine that collects such figures.

Routes are told by their pattern, never by the address that was asked for: ids and slugs stay out. Where several processes
serve, each counts in files of the folder that PROMETHEUS_MULTIPROC_DIR names, and any of them answers for all.
"""

import hmac
import time
from collections.abc import Callable, Iterator
from typing import Any

import redis
from django.db import Error as DatabaseError
from django.db import connection
from django.db.models import Min
from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_safe
from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

from api import environment
from costbase.models.run import OVER, Run

# The queue that tasks go to unless told otherwise, by the name that the queue's library gives it.
QUEUE = "celery"
_BROKER_TIMEOUT_SECONDS = 2.0
_SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
_QUERIES = (1, 2, 4, 6, 8, 12, 16, 24, 48, 96)

REQUESTS = Counter("roofs_requests", "Requests that were answered.", ["method", "route", "status"])
SECONDS = Histogram("roofs_request_seconds", "Time from a request to its answer.", ["method", "route"], buckets=_SECONDS)
QUERIES = Histogram(
    "roofs_request_queries", "Statements that a request sent to the database.", ["method", "route"], buckets=_QUERIES
)


class _Count:
    """Counts the statements that pass through a connection."""

    def __init__(self) -> None:
        self.statements = 0

    def __call__(self, execute: Callable[..., Any], *args: Any) -> Any:
        self.statements += 1
        return execute(*args)


class Metrics:
    """Middleware: counts every request with its time and its statements."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        count, started = _Count(), time.perf_counter()
        with connection.execute_wrapper(count):
            response = self._get_response(request)
        match = request.resolver_match
        # A method is the client's own word: an unknown one must not make a series of its own.
        method = request.method if match else "other"
        route = match.route if match else ""
        REQUESTS.labels(method, route, str(response.status_code)).inc()
        SECONDS.labels(method, route).observe(time.perf_counter() - started)
        QUERIES.labels(method, route).observe(count.statements)
        return response


class Background(Collector):
    """What waits in the background, looked up when somebody asks; a server that does not answer leaves its figure out."""

    def describe(self) -> Iterator[GaugeMetricFamily]:
        """Nothing is looked up before somebody asks."""
        return iter(())

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """The length of the queue, and the age of the oldest run that is not over."""
        waiting, oldest = _waiting(), _oldest()
        if waiting is not None:
            yield GaugeMetricFamily("roofs_queue_length", "Tasks that wait for a worker.", value=waiting)
        if oldest is not None:
            yield GaugeMetricFamily(
                "roofs_oldest_run_seconds", "Age of the oldest run that is not over; 0 without any.", value=oldest
            )


def _waiting() -> float | None:
    client = redis.Redis.from_url(
        environment.read().redis_url,
        socket_timeout=_BROKER_TIMEOUT_SECONDS,
        socket_connect_timeout=_BROKER_TIMEOUT_SECONDS,
    )
    try:
        with client:
            return float(client.llen(QUEUE))
    except redis.RedisError:
        return None


def _oldest() -> float | None:
    try:
        created = Run.objects.exclude(state__in=OVER).aggregate(oldest=Min("created"))["oldest"]
    except DatabaseError:
        return None
    return (timezone.now() - created).total_seconds() if created else 0.0


@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """The figures, for whoever knows METRICS_TOKEN; while none is set there is no such address."""
    wanted = environment.read().metrics_token
    sent = request.headers.get("Authorization", "").removeprefix("Bearer ")
    if not wanted or not hmac.compare_digest(sent.encode(), wanted.encode()):
        raise Http404("There is no such address.")
    return HttpResponse(generate_latest(_registry()), content_type=CONTENT_TYPE_LATEST)


def _registry() -> CollectorRegistry:
    """What this process counted, or all processes of the folder; with what is looked up now."""
    registry = CollectorRegistry()
    registry.register(Background())
    if environment.read().metrics_folder:
        MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    else:
        for own in (REQUESTS, SECONDS, QUERIES):
            registry.register(own)
    return registry
