"""Metrics for Prometheus, and a log with one line of JSON for each request and message."""

import logging
import math
import re
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, Info, ProcessCollector, generate_latest
from pydantic_core import to_json
from starlette.types import Scope

from knowledge.parts.provenance import KnowledgeStamp

log = logging.getLogger("fillwright")

METHODS = {"DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT"}
LONGEST_PATH = 100
SELDOM_S = 1.0
# W3C Trace Context, 3.2.2: version, trace, parent and flags; a version to come may have more after them.
TRACE = re.compile(rb"([0-9a-f]{2})-([0-9a-f]{32})-([0-9a-f]{16})-[0-9a-f]{2}(-.*)?")


class Metrics:
    """Counted by the template of a route and never by what callers sent, so that the series stay few."""

    def __init__(self, stamp: KnowledgeStamp) -> None:
        self._registry = registry = CollectorRegistry()
        ProcessCollector(registry=registry)
        Info("fillwright_knowledge", "The knowledge that answers.", registry=registry).info(stamp.model_dump())
        labels = ("route", "method", "status")
        self.requests = Counter("fillwright_requests", "Requests that ended.", labels, registry=registry)
        self.seconds = Histogram("fillwright_request_seconds", "Duration of requests.", labels[:1], registry=registry)
        self.in_flight = Gauge("fillwright_requests_in_flight", "Requests not yet answered.", registry=registry)

    def text(self) -> bytes:
        """Every series in the text format of Prometheus."""
        return generate_latest(self._registry)


@dataclass
class RequestRecord:
    """What is logged and counted of one request, filled in while it is answered."""

    method: str
    request_id: str
    begun: float
    status: int = 0
    bytes: int = 0
    is_complete: bool = False
    is_logged: bool = True

    def end(self, scope: Scope, metrics: Metrics) -> None:
        """Count the request and write its line."""
        seconds = time.perf_counter() - self.begun
        # The path as it is declared; none where no route took the request.
        route = str(scope["route"].path) if scope.get("route") else None
        method = self.method if self.method in METHODS else "other"
        metrics.requests.labels(route or "none", method, f"{self.status // 100}xx" if self.status else "none").inc()
        metrics.seconds.labels(route or "none").observe(seconds)
        if not self.is_logged:
            return
        fields = {
            "request_id": self.request_id,
            "trace_id": _trace_id(scope),
            "method": method,
            "status": self.status or None,
            "bytes": self.bytes,
            "route": route or scope["path"][:LONGEST_PATH],
            "duration_ms": round(seconds * 1000, 1),
            "client_disconnected": not self.is_complete,
        }
        if log.isEnabledFor(logging.INFO):
            # Made here and not by `log.info`, which would look up the line of code that logs.
            line = logging.LogRecord(log.name, logging.INFO, "", 0, "request", None, None)
            line.fields = fields
            log.handle(line)


def _trace_id(scope: Scope) -> str | None:
    """The trace that the caller says this request belongs to; None where it says so in no sound header."""
    given = [value for name, value in scope["headers"] if name == b"traceparent"]
    found = TRACE.fullmatch(given[0]) if len(given) == 1 else None
    if found is None or found[1] == b"ff" or (found[1] == b"00" and found[4]):
        return None
    return found[2].decode() if int(found[2], 16) and int(found[3], 16) else None


class JsonLines(logging.Formatter):
    """A record as one line of ASCII; `extra={"fields": …}` become fields of their own."""

    def format(self, record: logging.LogRecord) -> str:
        """The line."""
        line = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "message": record.getMessage(),
            **getattr(record, "fields", {}),
        }
        if record.exc_info:
            line["traceback"] = self.formatException(record.exc_info)
        return to_json(line, ensure_ascii=True).decode()


class Seldom(logging.Filter):
    """Lets a message through once a second, however often it is logged: what many callers cause at once."""

    def __init__(self) -> None:
        super().__init__()
        self._told: dict[str, float] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether the last one like it was long enough ago."""
        words = str(record.msg).partition("\n")[0]
        is_due = record.created - self._told.get(words, -math.inf) >= SELDOM_S
        if is_due:
            self._told[words] = record.created
        return is_due


# The server's own messages have the same shape; the request lines above replace its access log. Of connections that
# cannot be accepted the loop tells each time it tries.
LOG_CONFIG: dict[str, Any] = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"json": {"()": JsonLines}},
    "filters": {"seldom": {"()": Seldom}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "json"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    "loggers": {
        "fillwright": {"level": "INFO"},
        "fillwright.seldom": {"filters": ["seldom"]},
        "asyncio": {"filters": ["seldom"]},
        "uvicorn": {"level": "INFO"},
    },
}
