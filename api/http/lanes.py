"""Long work beside the event loop: a few threads for each kind of it, a short queue before them, and no more."""

import asyncio
import os
from collections.abc import Callable, Coroutine, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any, NamedTuple, ParamSpec, TypeVar

import anyio
from starlette.requests import ClientDisconnect
from starlette.types import Receive

from api.http.problems import Refused

Result = TypeVar("Result")
Given = ParamSpec("Given")

BUSY = "More is being asked than can be answered at once."


class Share(NamedTuple):
    """How many threads one kind of work has, and how many callers may wait for them."""

    at_once: int
    waiting: int


# Threads compute in turns, so more of them answer hardly sooner and hold up the event loop.
SHARES: Mapping[str, Share] = {
    "questions": Share(max(1, min(4, (os.cpu_count() or 1) // 2)), 32),
    "long": Share(1, 16),
    "pages": Share(1, 16),
    "batches": Share(1, 500),
    "document": Share(1, 16),
}


class Lane:
    """The threads of one kind of work.

    Who is cancelled before a thread is free leaves the queue; work that has begun keeps its thread to the end, so that
    there are never more of them, but nobody waits for it.
    """

    def __init__(self, name: str, share: Share) -> None:
        self._threads = ThreadPoolExecutor(share.at_once, name)
        self._most = sum(share)
        self._open: set[Future[Any]] = set()

    async def run(self, work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs) -> Result:
        """What the work comes to.

        Errors: Refused as busy, where too many wait already; whatever the work raises.
        """
        if len(self._open) >= self._most:
            raise Refused("busy", BUSY)
        future = self._threads.submit(work, *args, **kwargs)
        self._open.add(future)
        future.add_done_callback(self._open.discard)
        return await asyncio.wrap_future(future)


class Lanes:
    """The lanes of one application, and whose turn it is to begin."""

    def __init__(self) -> None:
        self._lanes = {name: Lane(name, share) for name, share in SHARES.items()}
        self._turn = anyio.Lock()

    def __getitem__(self, name: str) -> Lane:
        return self._lanes[name]

    async def turn(self) -> None:
        """Wait until in this turn of the event loop nobody else begins, however many arrive at once."""
        async with self._turn:
            await asyncio.sleep(0)


class AskedLane(NamedTuple):
    """A lane as one request uses it."""

    lane: Lane
    receive: Receive

    async def run(self, work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs) -> Result:
        """What the work comes to, as long as the caller waits for it.

        Errors: Refused as busy; ClientDisconnect; whatever the work raises.
        """
        return await while_waited_for(self.receive, self.lane.run(work, *args, **kwargs))

    async def run_if(
        self, is_long: bool, work: Callable[Given, Result], *args: Given.args, **kwargs: Given.kwargs
    ) -> Result:
        """The same, but for work that is done in a moment: that is done at once."""
        return await self.run(work, *args, **kwargs) if is_long else work(*args, **kwargs)


async def while_waited_for(receive: Receive, answering: Coroutine[Any, Any, Result]) -> Result:
    """The result, unless the caller leaves before; the body of the request has to be read already.

    Errors: ClientDisconnect; whatever the answering raises.
    """
    answer, leaving = asyncio.ensure_future(answering), asyncio.ensure_future(_left(receive))
    try:
        await asyncio.wait((answer, leaving), return_when=asyncio.FIRST_COMPLETED)
        if not answer.done():
            raise ClientDisconnect
        return answer.result()
    finally:
        answer.cancel()
        leaving.cancel()


async def _left(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
