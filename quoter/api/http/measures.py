"""What the service counts of its own work, for Prometheus to collect at GET /metrics."""

import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from flask import Blueprint, Flask, Response, current_app, g, request
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric

from quoter.api.http.operations import Answer, Operation, operation
from quoter.api.http.services import services
from quoter.records.measures import StoreState

blueprint = Blueprint("measures", __name__)

MEASURES = "MEASURES"
"""Where the app's configuration keeps what it counts."""

CONTENT_TYPE = "text/plain"

SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)
"""Upper ends of the classes of latency: from a price to the import of a whole rate book."""


class Measures:
    """Counters of one app; those of several processes are added up by whoever collects them."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        self._found: dict[tuple[str, int], tuple[Counter, Histogram]] = {}
        self.requests = self._counter("requests", "Requests answered.", "operation", "status")
        self.priced = self._counter("prices", "Jobs priced for whoever asked.")
        self.issued = self._counter("quotes_issued", "Quotes issued.")
        self.refusals = self._counter("refusals", "What was refused, by the reason.", "reason")
        self.seconds = Histogram(
            "quoter_request_seconds", "How long answers took.", ("operation",), buckets=SECONDS, registry=self.registry
        )

    def of(self, operation: str, status: int) -> tuple[Counter, Histogram]:
        """Where requests that an operation answers so are counted, and how long it takes; looked up once for each."""
        known = (operation, status)
        if known not in self._found:
            self._found[known] = self.requests.labels(operation, status), self.seconds.labels(operation)
        return self._found[known]

    def _counter(self, name: str, meaning: str, *labels: str) -> Counter:
        return Counter(f"quoter_{name}", meaning, labels, registry=self.registry)


def measures() -> Measures:
    """Those of the app that is answering."""
    found: Measures = current_app.config[MEASURES]
    return found


def register(app: Flask) -> None:
    """Counts every answer of an app, by the operation or page that gave it and never by the address, which may tell."""
    app.config[MEASURES] = kept = Measures()
    kept.registry.register(_OfStore(app))

    @app.before_request
    def begin() -> None:
        g.began = time.perf_counter()

    @app.after_request
    def count(response: Response) -> Response:
        requests, seconds = kept.of((request.endpoint or "nowhere").rpartition(".")[2], response.status_code)
        requests.inc()
        seconds.observe(time.perf_counter() - g.get("began", time.perf_counter()))
        return response


def count_refusals(reasons: Iterable[str]) -> None:
    """Counts what a request was refused for, each reason once."""
    for reason in dict.fromkeys(reasons):
        measures().refusals.labels(reason).inc()


@dataclass(frozen=True, slots=True)
class _OfStore:
    """What is asked of the database when somebody collects."""

    app: Flask

    def collect(self) -> Iterator[Metric]:
        with self.app.app_context():
            state: StoreState = services().store_state()
        yield GaugeMetricFamily("quoter_database_bytes", "Size of the database and its log.", state.byte_count)
        waited = "Time that writes of this process have waited for others to end theirs."
        yield CounterMetricFamily("quoter_database_waited_seconds", waited, state.waited_seconds)
        written = "Time that writes of this process have kept others waiting."
        yield CounterMetricFamily("quoter_database_busy_seconds", written, state.busy_seconds)
        queue = GaugeMetricFamily("quoter_webhook_deliveries", "Deliveries by state.", labels=("state",))
        for name, number in state.deliveries.items():
            queue.add_metric((name,), number)
        yield queue

    def describe(self) -> list[Metric]:
        """Nothing is collected only to learn the names."""
        return []


@operation(
    blueprint,
    Operation(
        id="readMetrics",
        method="GET",
        path="/metrics",
        summary="What the service has counted, for Prometheus",
        description=(
            "Requests and latency by operation, jobs priced, quotes issued, refusals by reason, deliveries of "
            "webhooks, size of the database and time spent on it. Counters are of one process since its start."
        ),
        scopes=("desk", "owner"),
        answers={200: Answer("Prometheus text format", content_type=CONTENT_TYPE)},
    ),
)
def read_metrics() -> Response:
    """The figures."""
    return Response(generate_latest(measures().registry), content_type=f"{CONTENT_TYPE}; version=0.0.4; charset=utf-8")
