"""What can be seen of a running service: one line of the log for each request, and metrics for Prometheus."""

import logging
import time
import uuid

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, Info, ProcessCollector, generate_latest
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.connections import caller_is_gone
from knowledge.parts.provenance import KnowledgeStamp

log = logging.getLogger("fillwright")

METHODS = {"DELETE", "GET", "HEAD", "OPTIONS", "PATCH", "POST", "PUT"}
LONGEST_PATH = 100


class Metrics:
    """Counted by the template of a route and never by what callers wrote, so that the series stay few."""

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


class Observed:
    """Outermost: gives each request its id and a scope of its own, and tells of it once it has ended."""

    def __init__(self, app: ASGIApp, metrics: Metrics) -> None:
        self.app = app
        self.metrics = metrics

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        method = scope["method"] if scope["method"] in METHODS else "other"
        scope = {**scope, "fillwright.request_id": str(uuid.uuid4())}
        told = {"request_id": scope["fillwright.request_id"], "method": method, "status": None, "bytes": 0}
        is_whole = False

        async def send_counted(message: Message) -> None:
            nonlocal is_whole
            if message["type"] == "http.response.start":
                told["status"] = message["status"]
            else:
                told["bytes"] += len(message.get("body", b""))
                is_whole = not message.get("more_body")
            await send(message)

        begun = time.perf_counter()
        is_gone = False
        try:
            with self.metrics.in_flight.track_inprogress():
                await self.app(scope, receive, send_counted)
            is_gone = caller_is_gone(scope) or not is_whole
        finally:
            self._tell(scope, told, time.perf_counter() - begun, is_gone)

    def _tell(self, scope: Scope, told: dict[str, object], seconds: float, is_gone: bool) -> None:
        route = _template(scope)
        status = f"{told['status'] // 100}xx" if told["status"] else "none"
        self.metrics.requests.labels(route or "none", told["method"], status).inc()
        self.metrics.seconds.labels(route or "none").observe(seconds)
        told["route"] = route or scope["path"][:LONGEST_PATH]
        log.info("request", extra={"fields": {**told, "duration_ms": round(seconds * 1000, 1), "client_gone": is_gone}})


def _template(scope: Scope) -> str | None:
    """The path as it stands in the code of the route that took the request; None when none did."""
    if "endpoint" not in scope:
        return None
    route = scope.get("route")
    # Files below a folder and the OpenAPI document have no route object: the one path is the folder, the other fixed.
    return route.path if route else scope["root_path"] or scope["path"]
