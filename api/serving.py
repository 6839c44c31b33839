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

# A classic BPF filter over the header of TCP: what asks for a new connection is dropped, the rest passes.
DROP_SYN = (
    (0x30, 0, 0, 13),  # load the byte of flags
    (0x45, 0, 1, 0x02),  # unless it holds SYN, skip one
    (0x06, 0, 0, 0),  # drop
    (0x06, 0, 0, 0xFFFFFFFF),  # pass
)
SO_ATTACH_FILTER = 26
# Long enough for a handshake under way to end and for its connection to be accepted.
HANDSHAKE_S = 0.1


class Server(uvicorn.Server):
    """Lets what it has accepted be answered when told to stop, and stops at once when told so again."""

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """A signal to stop has come."""
        if self.should_exit:
            signal.signal(sig, signal.SIG_DFL)
            signal.raise_signal(sig)
        super().handle_exit(sig, frame)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Accept what is connected already, then stop listening: closing at once would reset it."""
        self.lifespan.state["is_stopping"] = True
        drop_new_connections(listening for server in self.servers for listening in server.sockets)
        await asyncio.sleep(HANDSHAKE_S)
        await super().shutdown(sockets)


class Workers(Multiprocess):
    """Several processes that accept from one listening socket."""

    def terminate_all(self) -> None:
        """Let the workers accept what is connected already before they are told to stop."""
        drop_new_connections(self.sockets)
        time.sleep(HANDSHAKE_S)
        super().terminate_all()


def drop_new_connections(listeners: Iterable[socket.socket]) -> None:
    """Let these listening sockets take no new connection; a client tries again in a second and is then refused.

    Where the system has no such filter, what connects in the last microseconds before the close is reset.
    """
    if sys.platform == "linux":
        steps = ctypes.create_string_buffer(b"".join(struct.pack("HBBI", *step) for step in DROP_SYN))
        program = struct.pack("HP", len(DROP_SYN), ctypes.addressof(steps))
        for listener in listeners:
            with suppress(OSError):
                listener.setsockopt(socket.SOL_SOCKET, SO_ATTACH_FILTER, program)


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
