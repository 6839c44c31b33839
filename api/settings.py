"""The settings of the server, from flags and environment, in one validated model."""

import argparse
import re
from collections.abc import Sequence
from ipaddress import ip_address, ip_network
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import urlsplit

from pydantic import AfterValidator, BeforeValidator, Field, HttpUrl, TypeAdapter, ValidationError
from pydantic_settings import BaseSettings, NoDecode, SettingsConfigDict

from api.shop import DEMO, shop_folder

PREFIX = "FILLWRIGHT_"
# The longest question the models allow is about half of this; refusing 1 MB of wrong values takes seconds.
MAX_BODY_BYTES = 256_000
ORIGIN = re.compile(r"https?://([a-z0-9-]+(\.[a-z0-9-]+)*|\[[0-9a-f:.]+\])(:[1-9][0-9]*)?")
URL = TypeAdapter(HttpUrl)
# Signs that stand in a path as they are.
ROOT_PATH = re.compile(r"(/[A-Za-z0-9_.~-]+)+")
HOST = re.compile(r"[a-z0-9_]([a-z0-9_-]*[a-z0-9_])?(\.[a-z0-9_]([a-z0-9_-]*[a-z0-9_])?)*")
OWN_PATHS = ("v1", "docs", "faq", "problems")
LOOPBACK = ("localhost", "127.0.0.1", "::1")
# Options that are given once for each value; in the environment their values are parted by commas.
REPEATED = {"origins": "origin", "allowed_hosts": "allowed-host"}


def _origin(text: str) -> str:
    """An origin as a browser sends it: in lower case, and without the port that its scheme implies."""
    try:
        origin = str(URL.validate_python(text)).removesuffix("/")
    except ValidationError:
        origin = ""
    if text.endswith("/") or not ORIGIN.fullmatch(origin):
        raise ValueError("an origin is of the form https://shop.example or http://localhost:5173")
    return origin


def _root_path(text: str) -> str:
    """A prefix of paths without the slash at its end."""
    path = text.removesuffix("/")
    if path and not ROOT_PATH.fullmatch(path):
        raise ValueError("a prefix of paths is of the form /oil")
    if path.strip("/").partition("/")[0] in OWN_PATHS:
        raise ValueError(f"a prefix begins otherwise than the paths of the service, /{', /'.join(OWN_PATHS)}")
    return path


def _public_url(text: str) -> str:
    """The address of the service as a browser shows it, without the slash at its end."""
    parts = re.fullmatch(r"([^:/]+://[^/?#]+)([^?#]*)", text)
    if not parts:
        raise ValueError("a public address is of the form https://shop.example or https://shop.example/oil")
    return _origin(parts[1]) + _root_path(parts[2])


def _host(text: str) -> str:
    """A name, or an address without brackets, as it stands in the `Host` of a request."""
    host = text.lower().strip("[]")
    try:
        return str(ip_address(host))
    except ValueError:
        if not HOST.fullmatch(host):
            raise ValueError("a host is of the form shop.example or 192.168.1.5, without a port") from None
        return host


def _proxy(text: str) -> str:
    try:
        return str(ip_network(text)) if "/" in text else str(ip_address(text))
    except ValueError:
        raise ValueError("a proxy is named by its address, 10.0.0.5, or its network, 10.0.0.0/24") from None


def _split(value: Any) -> Any:
    return [part.strip() for part in value.split(",") if part.strip()] if isinstance(value, str) else value


Seconds = Annotated[int, Field(ge=1, le=3600)]
Origins = Annotated[tuple[Annotated[str, AfterValidator(_origin)], ...], NoDecode, BeforeValidator(_split)]
Hosts = Annotated[tuple[Annotated[str, AfterValidator(_host)], ...], NoDecode, BeforeValidator(_split)]
Proxies = Annotated[tuple[Annotated[str, AfterValidator(_proxy)], ...], NoDecode, BeforeValidator(_split)]
Shop = Annotated[Path | None, AfterValidator(lambda folder: folder and shop_folder(folder))]


class Settings(BaseSettings):
    """Each field is a flag and, with the prefix FILLWRIGHT_, a variable; a flag wins."""

    model_config = SettingsConfigDict(env_prefix=PREFIX, env_ignore_empty=True, frozen=True)

    host: str = Field("127.0.0.1", description="address to listen on; the default is this machine only")
    port: int = Field(8000, ge=0, le=65535, description="port to listen on; 0 takes a free one")
    shop: Shop = Field(DEMO if DEMO.is_dir() else None, description="folder with the shop's tables")
    region: str | None = Field(None, description="where the shop is; changes which classes count as sold every day")
    origins: Origins = Field(
        (), description="web page origin that may call; --origin is repeatable, commas in the variable"
    )
    public: bool = Field(False, description="serve only what customers may see: nothing of the shop, no metrics")
    public_url: Annotated[str, AfterValidator(lambda url: url and _public_url(url))] = Field(
        "", description="address at which the proxy in front is found, such as https://shop.example/oil; links show it"
    )
    root_path: Annotated[str, AfterValidator(_root_path)] = Field(
        "", description="prefix that the proxy puts before every path; by default that of --public-url"
    )
    allowed_hosts: Hosts = Field(
        (),
        description="name under which the service may be asked, beside those of this machine and of --host and "
        "--public-url; --allowed-host is repeatable, commas in the variable",
    )
    forwarded_allow_ips: Proxies = Field(
        ("127.0.0.1", "::1"), description="proxies whose X-Forwarded-For and -Proto are believed, parted by commas"
    )
    workers: int = Field(1, ge=1, le=64, description="processes that answer side by side")
    max_body_bytes: int = Field(MAX_BODY_BYTES, ge=1000, le=100_000_000, description="largest body of a request")
    read_timeout: float = Field(
        20, gt=0, le=3600, description="seconds within which the body of a request must be complete"
    )
    keep_alive: Seconds = Field(20, description="seconds for which an idle connection is kept open")
    graceful_timeout: Seconds = Field(30, description="seconds that open requests are given at a stop")

    @property
    def prefix(self) -> str:
        """What stands before every path where the service is found."""
        return self.root_path or urlsplit(self.public_url).path

    @property
    def address(self) -> str:
        """What a link to a path of the service begins with: the public address, or the prefix alone."""
        return self.public_url or self.prefix

    @property
    def hosts(self) -> frozenset[str]:
        """The names under which the service may be asked."""
        public = urlsplit(self.public_url).hostname
        return frozenset({*LOOPBACK, *self.allowed_hosts, self.host.lower(), *([public] if public else [])})

    @property
    def environment(self) -> dict[str, str]:
        """The variables from which a worker process reads the same settings."""
        values = {
            name: ",".join(value) if isinstance(value, tuple) else "" if value is None else value
            for name, value in self
        }
        return {f"{PREFIX}{name.upper()}": str(value) for name, value in values.items()}


def read_settings(flags: Sequence[str] = ()) -> Settings:
    """Settings from flags, else from the environment, else the defaults.

    Errors: SystemExit with a usage message that names the flag and what is allowed.
    """
    parser = argparse.ArgumentParser(
        prog="python -m api",
        description="Serve the fill advice over HTTP. `python -m api ask FILE.json` answers in the terminal instead.",
        epilog=f"Each flag has a variable in the environment: {PREFIX}PORT for --port, {PREFIX}ORIGINS for --origin.",
    )
    for name, field in Settings.model_fields.items():
        shown = field.default.name if isinstance(field.default, Path) else field.default
        shown = ",".join(shown) if isinstance(shown, tuple) else shown
        help_ = f"{field.description}; default {shown}" if shown else field.description
        if name in REPEATED:
            metavar = REPEATED[name].rpartition("-")[2].upper()
            parser.add_argument(_flag(name), action="append", dest=name, metavar=metavar, help=help_)
        elif field.annotation is bool:
            parser.add_argument(_flag(name), action="store_const", const=True, help=help_)
        else:
            parser.add_argument(_flag(name), metavar=name.rpartition("_")[2].upper(), help=help_)
    given = {name: value for name, value in vars(parser.parse_args(list(flags))).items() if value is not None}
    try:
        return Settings(**given)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        name = str(first["loc"][0])
        message = first["msg"].removeprefix("Value error, ")
        parser.error(f"{_flag(name)} or {PREFIX}{name.upper()} is {str(first['input'])[:100]!r}: {message}")


def _flag(name: str) -> str:
    return f"--{REPEATED.get(name, name.replace('_', '-'))}"
