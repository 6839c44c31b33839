"""The ASGI application: handlers, middleware and routes, listed in order."""

import asyncio
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache

from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware
from starlette.middleware.gzip import GZipMiddleware

from api.batch import LINES, MOST_BYTES
from api.http.bodies import BodyLimit
from api.http.descriptors import descriptor_limit
from api.http.etags import EntityTags, build_of_program
from api.http.handlers import handle_problems
from api.http.hosts import KnownHosts
from api.http.lanes import Lanes
from api.http.middleware import Envelope, Faults
from api.http.observability import Metrics
from api.routes import catalogue, documentation, fill, jobs, pages, questions, service, shift, shop, stock, wall
from api.settings import Settings, read_settings
from api.shop import WatchedShop
from api.views.page import problem_page
from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase

DESCRIPTION = """Which lubricant class fits a synchronized gearbox, in order, with the reasons, the cautions and the
next question to ask. Leave out what you do not know. **The manufacturer's service data decides.**

Each answer names the edition of the knowledge that spoke. Every error is `application/problem+json`; each kind
is explained at `/problems`.

**A promise.** What `/v1` has stays: operations and their names, parameters, fields, types, units and the words of
lists, and what was accepted is accepted. New fields may be added; ignore those you do not recognise. What has to go
is marked `deprecated` here and named at `/v1/changes`, sends `Deprecation` and `Sunset` (RFC 9745, RFC 8594), and
stays for twelve months at least. Texts for people, the rows of tables and what an answer advises may change with
every edition."""
# Bodies that may come in at once; each takes memory up to the largest size.
MOST_INCOMPLETE = 500
# So long a thread at work may hold up the event loop, each time that the loop has waited for the system.
SWITCH_S = 0.0005
# Matched one after the other; the first stands on the app itself, since what watches the service asks it often.
ROUTERS = (
    service.router,
    service.metrics_router,
    fill.router,
    questions.router,
    shift.router,
    catalogue.router,
    shop.router,
    stock.router,
    pages.router,
    jobs.router,
    stock.pages_router,
    wall.router,
    documentation.router,
)
# What customers must not see.
FOR_THE_SHOP = (service.metrics_router, shop.router, stock.router, stock.pages_router)


def create_app(settings: Settings, base: KnowledgeBase) -> FastAPI:
    """The application that answers from this knowledge and the shop folder of the settings.

    Errors: FaultyShop, when the tables of that folder cannot be used; UnknownRegion.
    """
    metrics = Metrics(base.stamp)
    app = FastAPI(
        title="Fillwright",
        version=service.VERSION,
        description=DESCRIPTION,
        redirect_slashes=False,
        openapi_url=None,
        lifespan=_lifespan,
        generate_unique_id_function=lambda route: route.name,
        telemetry={"tracing": False, "metrics": False, "logs": False},
        middleware=_middleware(settings, base, metrics),
    )
    app.state.base = base
    app.state.metrics = metrics
    told = f"{base.stamp} {settings.region} {settings.public} {settings.address} {service.VERSION} {build_of_program()}"
    app.state.edition = told
    app.state.origins = settings.origins
    app.state.settings = settings
    app.state.shop_folder = settings.shop
    app.state.shop = WatchedShop(None if settings.public else settings.shop, base, region=settings.region)
    routers = [router for router in ROUTERS if not (settings.public and router in FOR_THE_SHOP)]
    app.state.routes = [route for router in routers for route in router.routes]
    handle_problems(app, problem_page)
    app.router.routes.extend(service.router.routes)
    for router in routers[1:]:
        app.include_router(router)
    return app


def _middleware(settings: Settings, base: KnowledgeBase, metrics: Metrics) -> list[Middleware]:
    """The layers around the routes, from the outside in."""
    cross_origin = Middleware(
        CORSMiddleware,
        allow_origins=settings.origins,
        allow_methods=("GET", "HEAD", "POST"),
        allow_headers=("Authorization", "Content-Type", "If-None-Match", "traceparent", "X-Request-Id"),
        expose_headers=("Deprecation", "ETag", "Knowledge-Version", "Request-Id", "Retry-After", "Sunset"),
    )
    return [
        Middleware(
            Envelope,
            headers={"Knowledge-Version": base.version},
            metrics=metrics,
            lanes=Lanes(),
            prefix=settings.prefix,
            address=settings.address,
        ),
        Middleware(KnownHosts, hosts=settings.hosts),
        *([cross_origin] if settings.origins else []),
        Middleware(Faults),
        Middleware(
            BodyLimit,
            max_bytes=settings.max_body_bytes,
            read_timeout_s=settings.read_timeout,
            larger={fill.BATCH: MOST_BYTES},
            streamed=LINES,
            most_incomplete=min(MOST_INCOMPLETE, descriptor_limit() // 4),
        ),
        Middleware(EntityTags),
        Middleware(
            GZipMiddleware,
            minimum_size=1024,
            compresslevel=5,
            exclude_content_types=(LINES,),
        ),
    ]


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    sys.setswitchinterval(SWITCH_S)
    watching = asyncio.create_task(app.state.shop.watch())
    yield
    watching.cancel()


@cache
def __getattr__(name: str) -> FastAPI:
    """`api.app:app`, built when a server asks for it, so that importing this module reads no tables."""
    if name == "app":
        return create_app(read_settings(), read_knowledge())
    raise AttributeError(name)
