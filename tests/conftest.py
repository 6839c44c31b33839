"""What several tests share: the knowledge, a client in process, and a real server."""

import asyncio
import json
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from functools import cache, partial
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from hypothesis import HealthCheck, Phase, settings

from api.app import create_app
from api.settings import DEMO, Settings
from knowledge.assemble import read_knowledge, read_shop
from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.fill.compute import compute_fill_answer
from knowledge.parts.request_model import Detail
from knowledge.shop.shop import Shop
from tests.bench.real_server import Server, serving

# A law that fails tells the first question that breaks it: to look for the smallest may take five minutes, in which the
# others wait. `pytest --hypothesis-profile default TEST` looks for it. Nothing fails for being slow on a busy machine.
settings.register_profile(
    "half",
    max_examples=50,
    phases=[phase for phase in Phase if phase is not Phase.shrink],
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("half")
OWN_PAGE = "https://shop.example"
APART = [Path(__file__).parent / folder for folder in ("contract", "pages")]


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out what `test_apart.py` runs in processes of their own, unless it was asked for by name."""
    named = [Path(argument.partition("::")[0]).resolve() for argument in config.args]
    here = next((folder for folder in APART if collection_path.is_relative_to(folder)), None)
    return None if here is None or any(path.is_relative_to(here) for path in named) else True


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what mostly waits, other processes and servers, so that both cores stay busy to the end."""
    items.sort(key=lambda item: ("tests/test_apart" not in item.nodeid, "tests/knowledge/" in item.nodeid))


class Client:
    """Asks an ASGI application in process, one request at a time."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app

    def request(self, method: str, path: str, **given: object) -> httpx.Response:
        """Send one request and wait for the whole answer."""

        async def send() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
                return await client.request(method, path, **given)

        return asyncio.run(send())

    def get(self, path: str, **given: object) -> httpx.Response:
        """GET a path."""
        return self.request("GET", path, **given)

    def post(self, path: str, **given: object) -> httpx.Response:
        """POST to a path."""
        return self.request("POST", path, **given)


@pytest.fixture(scope="session")
def base() -> KnowledgeBase:
    """The knowledge as it is shipped."""
    return read_knowledge()


@pytest.fixture(scope="session")
def demo_shop(base: KnowledgeBase) -> Shop:
    """The invented shop."""
    return read_shop(DEMO, base)


@pytest.fixture(scope="session")
def ask_wire(base: KnowledgeBase) -> Callable[..., dict[str, Any]]:
    """Asks as a question travels over the wire; what was asked before, in whichever folder, is not computed again."""

    @cache
    def answer(question: str, detail: Detail) -> str:
        return compute_fill_answer(FillQuestion.model_validate_json(question), base, detail=detail).model_dump_json()

    return lambda question, detail="short": json.loads(answer(json.dumps(question), detail))


@pytest.fixture(scope="session")
def app(base: KnowledgeBase) -> FastAPI:
    """The application, with one web page allowed to call it."""
    return create_app(Settings(origins=(OWN_PAGE,)), base)


@pytest.fixture(scope="session")
def client(app: FastAPI) -> Client:
    """A client of the application."""
    return Client(app)


@pytest.fixture(scope="session")
def assert_problem() -> Callable[[httpx.Response, int, str], dict]:
    """The one check of the error shape."""

    def check(response: httpx.Response, status: int, slug: str) -> dict:
        body = response.json()
        assert response.status_code == status
        assert response.headers["content-type"] == "application/problem+json"
        assert body["type"] == (f"/problems/{slug}" if slug else "about:blank")
        assert body["status"] == status
        assert body["title"]
        assert body["detail"]
        assert body["instance"] == f"urn:uuid:{response.headers['request-id']}"
        assert len(body["errors"]) <= 20
        for error in body["errors"]:
            assert {"location", "pointer", "code", "detail"} <= set(error)
            assert error["pointer"] == "" or error["pointer"].startswith("/")
        assert response.headers["knowledge-version"]
        return body

    return check


@pytest.fixture(scope="session")
def run_server() -> Callable[..., AbstractContextManager[Server]]:
    """Runs a real server with these flags."""
    return partial(serving, "-m", "api", "--port", "0")


@pytest.fixture(scope="session")
def live_server(run_server: Callable[..., AbstractContextManager[Server]]) -> Iterator[str]:
    """The address of a real server with nothing set."""
    with run_server() as server:
        yield server.address
