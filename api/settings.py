"""Where the service listens and what it lets in, from flags and environment."""

import argparse
import os
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

DEMO = Path(__file__).resolve().parent.parent / "demo_data"
# The longest question the models allow is about half of this; refusing 1 MB of wrong values takes seconds.
MAX_BODY_BYTES = 256_000
MAX_HEAD_BYTES = 16_384


class Settings(NamedTuple):
    """Frozen, and complete before anything starts."""

    host: str = "127.0.0.1"
    port: int = 8000
    shop: Path | None = DEMO
    origins: tuple[str, ...] = ()
    max_body_bytes: int = MAX_BODY_BYTES
    workers: int = 1
    patience_s: int = 20
    stop_within_s: int = 30

    @property
    def environment(self) -> dict[str, str]:
        """The variables from which a worker process reads the same settings."""
        return {
            "FILLWRIGHT_HOST": self.host,
            "FILLWRIGHT_PORT": str(self.port),
            "FILLWRIGHT_SHOP": str(self.shop or ""),
            "FILLWRIGHT_ORIGINS": ",".join(self.origins),
            "FILLWRIGHT_WORKERS": str(self.workers),
            "FILLWRIGHT_PATIENCE": str(self.patience_s),
            "FILLWRIGHT_STOP_WITHIN": str(self.stop_within_s),
        }


DEFAULTS = Settings()
ORIGIN = re.compile(
    r"(?P<scheme>https?)://([a-z0-9-]+(\.[a-z0-9-]+)*|\[[0-9a-f:.]+\])(:(?P<port>[1-9][0-9]{0,4}))?",
    re.ASCII | re.IGNORECASE,
)
DEFAULT_PORTS = {"http": ":80", "https": ":443"}


def serve_parser() -> argparse.ArgumentParser:
    """The flags of `python -m api`."""
    parser = argparse.ArgumentParser(
        prog="python -m api",
        description="Serve the fill advice over HTTP. `python -m api ask FILE.json` answers in the terminal instead.",
        epilog="Each flag has an environment variable: FILLWRIGHT_HOST, _PORT, _SHOP, _ORIGINS (commas between them), "
        "_WORKERS, _PATIENCE, _STOP_WITHIN.",
    )
    parser.add_argument("--host", help=f"address to listen on; default {DEFAULTS.host}, this machine only")
    parser.add_argument("--port", type=_port, help=f"port to listen on; default {DEFAULTS.port}, 0 takes a free one")
    parser.add_argument("--shop", type=Path, help=f"folder with the shop's own boxes and jugs; default {DEMO.name}")
    parser.add_argument(
        "--origin", action="append", dest="origins", metavar="ORIGIN", help="web page origin that may call; repeatable"
    )
    parser.add_argument(
        "--workers", type=_workers, help=f"processes that answer side by side; default {DEFAULTS.workers}"
    )
    parser.add_argument(
        "--patience",
        type=_seconds,
        metavar="S",
        help=f"longest silence of a client that is waited for; default {DEFAULTS.patience_s} s",
    )
    parser.add_argument(
        "--stop-within",
        type=_seconds,
        metavar="S",
        help=f"longest wait for open requests at a stop; default {DEFAULTS.stop_within_s} s",
    )
    return parser


def read_settings(flags: Sequence[str] = (), environment: Mapping[str, str] = os.environ) -> Settings:
    """Settings from flags, else from the environment, else the defaults.

    Errors: SystemExit with a usage message when a flag or a variable makes no sense.
    """
    parser = serve_parser()
    given = parser.parse_args(list(flags))
    named = [part.strip() for part in environment.get("FILLWRIGHT_ORIGINS", "").split(",")]
    try:
        port = _read(environment, "FILLWRIGHT_PORT", _port, DEFAULTS.port) if given.port is None else given.port
        workers = given.workers or _read(environment, "FILLWRIGHT_WORKERS", _workers, DEFAULTS.workers)
        patience_s = given.patience or _read(environment, "FILLWRIGHT_PATIENCE", _seconds, DEFAULTS.patience_s)
        stop_within_s = given.stop_within or _read(
            environment, "FILLWRIGHT_STOP_WITHIN", _seconds, DEFAULTS.stop_within_s
        )
        origins = tuple(_origin(text) for text in given.origins or named if text)
    except argparse.ArgumentTypeError as error:
        parser.error(str(error))
    return Settings(
        host=given.host or environment.get("FILLWRIGHT_HOST") or DEFAULTS.host,
        port=port,
        shop=shop_folder(parser, given.shop, environment),
        origins=origins,
        workers=workers,
        patience_s=patience_s,
        stop_within_s=stop_within_s,
    )


def _read(environment: Mapping[str, str], variable: str, read: Callable[[str], int], default: int) -> int:
    text = environment.get(variable)
    try:
        return read(text) if text else default
    except argparse.ArgumentTypeError as error:
        raise argparse.ArgumentTypeError(f"{variable}: {error}") from None


def _origin(text: str) -> str:
    """An origin as a browser sends it: in small letters, and without the port that its scheme implies."""
    found = ORIGIN.fullmatch(text)
    if found is None or int(found["port"] or 1) > 65535:
        allowed = "https://shop.example or http://localhost:5173, the port at most 65535"
        raise argparse.ArgumentTypeError(f"the origin {text!r} is not of the form {allowed}")
    return text.lower().removesuffix(DEFAULT_PORTS[found["scheme"].lower()])


def _port(text: str) -> int:
    return _whole(text, 0, 65535, "a port is a whole number from 0 to 65535")


def _workers(text: str) -> int:
    return _whole(text, 1, 64, "the number of workers is a whole number from 1 to 64")


def _seconds(text: str) -> int:
    return _whole(text, 1, 3600, "a time is a whole number of seconds from 1 to 3600")


def _whole(text: str, least: int, most: int, allowed: str) -> int:
    if not re.fullmatch("[0-9]{1,6}", text) or not least <= int(text) <= most:
        raise argparse.ArgumentTypeError(allowed)
    return int(text)


def shop_folder(
    parser: argparse.ArgumentParser, flag: Path | None, environment: Mapping[str, str] = os.environ
) -> Path | None:
    """The folder of the shop's tables, None where there is none.

    Errors: SystemExit with a usage message when the folder that was named does not exist.
    """
    variable = environment.get("FILLWRIGHT_SHOP")
    named = flag or (Path(variable) if variable else None)
    if named is None:
        return DEMO if DEMO.is_dir() else None
    # A name that the system cannot take is the name of no folder either.
    if not os.path.isdir(named):
        parser.error(f"the shop folder {str(named)!r} does not exist")
    return named
