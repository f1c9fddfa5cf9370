"""Counts and times for Prometheus. Labels are bounded: methods, route patterns, statuses; never ids or names."""

from __future__ import annotations

import os

from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    ProcessCollector,
    generate_latest,
    multiprocess,
)

from api.upkeep.shared import SHARED
from themekit import __version__

MEDIA = CONTENT_TYPE_LATEST
_METHODS = ("GET", "HEAD", "OPTIONS", "POST", "PUT", "PATCH", "DELETE")
_SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)


class Metrics:
    """One application's counts; with `PROMETHEUS_MULTIPROC_DIR` those of all its processes together."""

    def __init__(self) -> None:
        self._shared = bool(os.environ.get(SHARED))
        self._registry = CollectorRegistry()
        # What is shared is read back from the files of all processes, not from this one's registry.
        own = None if self._shared else self._registry
        self._requests = Counter(
            "themekit_requests", "Requests answered.", ("method", "route", "status"), registry=own
        )
        self._seconds = Histogram(
            "themekit_request_seconds", "Time to the answer.", ("route",), buckets=_SECONDS, registry=own
        )
        self._failures = Counter("themekit_failures", "Errors nobody foresaw.", registry=own)
        self._running = Gauge(
            "themekit_requests_running", "Requests being answered.", registry=own, multiprocess_mode="livesum"
        )
        version = Gauge(
            "themekit_version", "Always 1; the version is its label.", ("version",), registry=own,
            multiprocess_mode="max",
        )  # fmt: skip
        version.labels(__version__).set(1)
        if not self._shared:
            ProcessCollector(registry=self._registry)

    def began(self) -> None:
        """A request came in."""
        self._running.inc()

    def ended(self) -> None:
        """A request is over, whatever became of it."""
        self._running.dec()

    def answered(self, method: str, route: str | None, status: int, seconds: float) -> None:
        """A request was answered; `route` is the pattern, None where none fits."""
        pattern = route or "none"
        self._requests.labels(method if method in _METHODS else "other", pattern, str(status)).inc()
        self._seconds.labels(pattern).observe(seconds)

    def failed(self) -> None:
        """An error came up that nobody foresaw."""
        self._failures.inc()

    def text(self) -> bytes:
        """Everything counted, in Prometheus' text format."""
        if not self._shared:
            return generate_latest(self._registry)
        registry = CollectorRegistry()
        multiprocess.MultiProcessCollector(registry)
        return generate_latest(registry)
