"""What several tests share: the knowledge, a client in process, and a real server."""

import asyncio
import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Any, NamedTuple

import httpx
import pytest
from fastapi import FastAPI
from hypothesis import settings

from api.app import create_app
from api.settings import DEMO, Settings
from knowledge.assemble import read_knowledge, read_shop
from knowledge.base import KnowledgeBase
from knowledge.shop.shop import Shop

ROOT = Path(__file__).resolve().parent.parent
settings.register_profile("half", max_examples=50)
settings.load_profile("half")
OWN_PAGE = "https://shop.example"


class Address(str):
    """Where a real server listens, and the process that it is."""

    pid: int


class Client:
    """Asks an ASGI application in process, one request at a time."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app

    def request(self, method: str, path: str, **given: object) -> httpx.Response:
        """Send one request and wait for the whole answer."""

        async def send() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://fillwright") as client:
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


class Server(NamedTuple):
    """A real server in a process of its own, on a free port of this machine."""

    process: subprocess.Popen
    log: Path
    address: Address

    @property
    def logged(self) -> list[dict[str, Any]]:
        """The lines of its log."""
        return [json.loads(line) for line in self.log.read_text().splitlines()]

    def line(self, **fields: object) -> dict[str, Any]:
        """The first line of its log that holds these fields, as soon as it is written."""
        for _ in range(400):
            for line in self.logged:
                if fields.items() <= line.items():
                    return line
            time.sleep(0.025)
        raise AssertionError(f"the server never logged {fields}")


@pytest.fixture(scope="session")
def run_server(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., AbstractContextManager[Server]]:
    """Runs a real server with these flags."""

    @contextmanager
    def running(*flags: str) -> Iterator[Server]:
        folder = tmp_path_factory.mktemp("server")
        with (folder / "log").open("w") as log:
            command = [sys.executable, "-m", "api", "--port", "0", *flags]
            environment = {**os.environ, "PYTHONPATH": str(ROOT)}
            process = subprocess.Popen(command, stdout=log, stderr=log, cwd=folder, env=environment)
            try:
                yield Server(process, folder / "log", _address_when_ready(process, folder / "log"))
            finally:
                process.terminate()
                process.wait(timeout=10)

    return running


@pytest.fixture(scope="session")
def serve(run_server: Callable[..., AbstractContextManager[Server]]) -> Callable[..., AbstractContextManager[Address]]:
    """Runs a real server with these flags; gives its address."""

    @contextmanager
    def serving(*flags: str) -> Iterator[Address]:
        with run_server(*flags) as server:
            yield server.address

    return serving


@pytest.fixture(scope="session")
def live_server(serve: Callable[..., AbstractContextManager[str]]) -> Iterator[str]:
    """The address of a real server with nothing set."""
    with serve() as address:
        yield address


def _address_when_ready(process: subprocess.Popen, log: Path) -> Address:
    for _ in range(200):
        assert process.poll() is None, log.read_text()
        if found := re.search(r"http://127\.0\.0\.1:\d+", log.read_text()):
            address = Address(found[0])
            address.pid = process.pid
            with suppress(httpx.ConnectError):  # The address is told before the first of several workers listens.
                assert httpx.get(f"{address}/readyz").status_code == 200
                return address
        time.sleep(0.05)
    raise AssertionError(f"the server did not start:\n{log.read_text()}")
