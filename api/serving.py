"""The server process: how it listens, what it logs and how it stops."""

import asyncio
import ctypes
import signal
import socket
import struct
import sys
import time
from collections.abc import Iterable
from contextlib import suppress
from types import FrameType
from typing import Any

import uvicorn
from fastapi import FastAPI
from uvicorn.supervisors import Multiprocess

from api.connections import Connection
from api.log_lines import LOG_CONFIG
from api.settings import MAX_HEAD_BYTES, Settings

# A packet filter of the system, over the header of TCP: what asks for a new connection is dropped, the rest passes.
NO_NEW_CALLER = (
    (0x30, 0, 0, 13),  # load the byte of flags
    (0x45, 0, 1, 0x02),  # unless it holds SYN, skip one
    (0x06, 0, 0, 0),  # drop
    (0x06, 0, 0, 0xFFFFFFFF),  # pass
)
SO_ATTACH_FILTER = 26
# Long enough for a handshake under way to end and for its caller to be taken in.
LAST_CALLERS_S = 0.1


class Server(uvicorn.Server):
    """Lets what it has accepted be answered when told to stop, and stops at once when told so again."""

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """A signal to stop has come."""
        if self.should_exit:
            signal.signal(sig, signal.SIG_DFL)
            signal.raise_signal(sig)
        super().handle_exit(sig, frame)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Take in who has called already, then stop listening: to close the door on them would cut them off."""
        self.lifespan.state["is_stopping"] = True
        call_no_more(listening for server in self.servers for listening in server.sockets)
        await asyncio.sleep(LAST_CALLERS_S)
        await super().shutdown(sockets)


class Workers(Multiprocess):
    """Several processes that take turns at one door."""

    def terminate_all(self) -> None:
        """Let the workers take in who has called already before they are told to stop."""
        call_no_more(self.sockets)
        time.sleep(LAST_CALLERS_S)
        super().terminate_all()


def call_no_more(doors: Iterable[socket.socket]) -> None:
    """Let nobody new be connected to these; who tries is refused at the second attempt, when nobody listens.

    Elsewhere than on Linux who calls in the last microseconds is connected, and cut off.
    """
    if sys.platform == "linux":
        steps = ctypes.create_string_buffer(b"".join(struct.pack("HBBI", *step) for step in NO_NEW_CALLER))
        program = struct.pack("HP", len(NO_NEW_CALLER), ctypes.addressof(steps))
        for door in doors:
            door.setsockopt(socket.SOL_SOCKET, SO_ATTACH_FILTER, program)


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
            config = uvicorn.Config("api.app:app", workers=settings.workers, **options)
            Workers(config, [config.bind_socket()]).run()
        else:
            Server(uvicorn.Config(app, **options)).run()
