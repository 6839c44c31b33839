"""The server process: how it listens, what it logs and how it stops."""

import asyncio
import signal
import socket
from contextlib import suppress
from functools import partial
from types import FrameType
from typing import Any

import uvicorn
from fastapi import FastAPI

from api.connections import Connection
from api.log_lines import LOG_CONFIG
from api.settings import MAX_HEAD_BYTES, Settings


class Server(uvicorn.Server):
    """Lets what it has accepted be answered when told to stop, and stops at once when told so again."""

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """A signal to stop has come."""
        if self.should_exit:
            signal.signal(sig, signal.SIG_DFL)
            signal.raise_signal(sig)
        super().handle_exit(sig, frame)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Stop listening, but let in whom the system has connected already: closing the door would cut them off."""
        state = self.lifespan.state
        state["is_stopping"] = True
        protocol = partial(self.config.http_protocol_class, self.config, self.server_state, state)
        loop = asyncio.get_running_loop()
        late = [loop.create_task(loop.connect_accepted_socket(protocol, client)) for client in self._at_the_door()]
        await super().shutdown(sockets)
        await asyncio.gather(*late)

    def _at_the_door(self) -> list[socket.socket]:
        """Whom the system has connected, taken in as the last thing before the door is shut."""
        doors = [listening.dup() for server in self.servers for listening in server.sockets]
        for server in self.servers:
            server.close()
        clients = []
        for door in doors:
            with door, suppress(BlockingIOError):
                while True:
                    clients.append(door.accept()[0])
        return clients


def server_options(settings: Settings) -> dict[str, Any]:
    """What the server is told, however many workers it has."""
    return {
        "host": settings.host,
        "port": settings.port,
        "http": Connection,
        "h11_max_incomplete_event_size": MAX_HEAD_BYTES,
        "timeout_keep_alive": settings.patience_s,
        "timeout_graceful_shutdown": settings.stop_within_s,
        "log_config": LOG_CONFIG,
        "access_log": False,
        "ws": "none",
    }


def run(app: FastAPI, settings: Settings) -> None:
    """Serve until stopped.

    Errors: SystemExit with 3 when the address cannot be listened on.
    """
    options = server_options(settings)
    with suppress(KeyboardInterrupt):
        if settings.workers > 1:
            # Each worker builds the application anew, from the environment.
            uvicorn.run("api.app:app", workers=settings.workers, **options)
        else:
            Server(uvicorn.Config(app, **options)).run()
