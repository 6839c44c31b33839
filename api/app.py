"""The ASGI application: handlers, middleware and routes, listed in order."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import cache

from fastapi import FastAPI
from starlette.middleware import Middleware
from starlette.middleware.cors import CORSMiddleware

from api.caching import EntityTags
from api.handlers import handle_problems
from api.middleware import BodyLimit, BodyPatience, CatchAll, Envelope, HeadCheck, ProblemShape
from api.observing import Metrics, Observed
from api.openapi import openapi_of
from api.routes import (
    batch,
    catalogue,
    curves,
    documentation,
    drain,
    fill,
    jug,
    pages,
    service,
    shift,
    shop,
    symptom,
    viscosity,
)
from api.settings import MAX_HEAD_BYTES, Settings, read_settings
from api.shop import WatchedShop
from knowledge.assemble import read_knowledge
from knowledge.base import KnowledgeBase

DESCRIPTION = """Which lubricant class fits a synchronized gearbox, in order, with the reasons, the cautions and the
next question to ask. Leave out what you do not know. **The manufacturer's service data decides.**

Each answer names the edition of the knowledge that spoke. Every error is `application/problem+json`; each kind
is explained at `/problems`. Ignore fields you do not recognise; new ones may be added."""
ROUTERS = (
    pages.router,
    fill.router,
    batch.router,
    curves.router,
    jug.router,
    drain.router,
    symptom.router,
    shift.router,
    viscosity.router,
    catalogue.router,
    shop.router,
    service.router,
    documentation.router,
)


def create_app(settings: Settings, base: KnowledgeBase) -> FastAPI:
    """The application that answers from this knowledge and the shop folder of the settings.

    Errors: FaultyShop, when the tables of that folder cannot be used.
    """
    metrics = Metrics(base.stamp)
    app = FastAPI(
        title="Fillwright",
        version=service.VERSION,
        description=DESCRIPTION,
        redirect_slashes=False,
        docs_url=None,
        redoc_url=None,
        lifespan=_lifespan,
        generate_unique_id_function=lambda route: route.name,
        # From the outside in: the first two see every response, a fault is caught inside of the cross-origin headers.
        middleware=[
            Middleware(Observed, metrics=metrics),
            Middleware(Envelope, headers={"Knowledge-Version": base.version}),
            Middleware(ProblemShape),
            Middleware(
                CORSMiddleware,
                allow_origins=settings.origins,
                allow_methods=("GET", "HEAD", "POST"),
                allow_headers=("Content-Type", "If-None-Match"),
                expose_headers=("ETag", "Knowledge-Version", "Request-Id"),
            ),
            Middleware(CatchAll),
            Middleware(HeadCheck, most_bytes=MAX_HEAD_BYTES),
            Middleware(BodyPatience, most_silence_s=settings.patience_s),
            Middleware(BodyLimit, most_bytes=settings.max_body_bytes, beyond=(batch.PATH,)),
            Middleware(EntityTags),
        ],
    )
    app.state.base = base
    app.state.metrics = metrics
    app.state.origins = settings.origins
    app.state.max_body_bytes = settings.max_body_bytes
    app.state.shop_folder = settings.shop
    app.state.shop = WatchedShop(settings.shop, base)
    app.state.routes = [route for router in ROUTERS for route in router.routes]
    handle_problems(app)
    documentation.serve_assets(app)
    for router in ROUTERS:
        app.include_router(router)
    app.openapi = openapi_of(app, settings.shop)
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[dict[str, str]]:
    watching = asyncio.create_task(app.state.shop.watch())
    # For what a connection refuses before there is a request for the application.
    yield {"knowledge_version": app.state.base.version}
    watching.cancel()


@cache
def __getattr__(name: str) -> FastAPI:
    """`api.app:app`, built when a server asks for it, so that importing this module reads no tables."""
    if name == "app":
        return create_app(read_settings(), read_knowledge())
    raise AttributeError(name)
