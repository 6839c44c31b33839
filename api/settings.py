"""The settings of the server, from flags and environment, in one validated model."""

import argparse
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, HttpUrl, TypeAdapter, ValidationError
from pydantic_settings import BaseSettings, NoDecode, SettingsConfigDict

from api.shop import DEMO, shop_folder

PREFIX = "FILLWRIGHT_"
# The longest question the models allow is about half of this; refusing 1 MB of wrong values takes seconds.
MAX_BODY_BYTES = 256_000
ORIGIN = re.compile(r"https?://([a-z0-9-]+(\.[a-z0-9-]+)*|\[[0-9a-f:.]+\])(:[1-9][0-9]*)?")
URL = TypeAdapter(HttpUrl)


def _origin(text: str) -> str:
    """An origin as a browser sends it: in lower case, and without the port that its scheme implies."""
    try:
        origin = str(URL.validate_python(text)).removesuffix("/")
    except ValidationError:
        origin = ""
    if text.endswith("/") or not ORIGIN.fullmatch(origin):
        raise ValueError("an origin is of the form https://shop.example or http://localhost:5173")
    return origin


def _split(value: Any) -> Any:
    return [part.strip() for part in value.split(",") if part.strip()] if isinstance(value, str) else value


Seconds = Annotated[int, Field(ge=1, le=3600)]
Origins = Annotated[tuple[Annotated[str, AfterValidator(_origin)], ...], NoDecode, BeforeValidator(_split)]
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
    workers: int = Field(1, ge=1, le=64, description="processes that answer side by side")
    max_body_bytes: int = Field(MAX_BODY_BYTES, ge=1000, le=100_000_000, description="largest body of a request")
    read_timeout: float = Field(
        20, gt=0, le=3600, description="seconds within which the body of a request must be complete"
    )
    keep_alive: Seconds = Field(20, description="seconds for which an idle connection is kept open")
    graceful_timeout: Seconds = Field(30, description="seconds that open requests are given at a stop")

    @property
    def environment(self) -> dict[str, str]:
        """The variables from which a worker process reads the same settings."""
        values = {
            **self.model_dump(),
            "origins": ",".join(self.origins),
            "shop": self.shop or "",
            "region": self.region or "",
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
        help_ = f"{field.description}; default {shown}" if shown else field.description
        if name == "origins":
            parser.add_argument("--origin", action="append", dest=name, metavar="ORIGIN", help=help_)
        else:
            parser.add_argument(f"--{name.replace('_', '-')}", metavar=name.rpartition("_")[2].upper(), help=help_)
    given = {name: value for name, value in vars(parser.parse_args(list(flags))).items() if value is not None}
    try:
        return Settings(**given)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        name = str(first["loc"][0])
        flag = "origin" if name == "origins" else name.replace("_", "-")
        message = first["msg"].removeprefix("Value error, ")
        parser.error(f"--{flag} or {PREFIX}{name.upper()} is {str(first['input'])[:100]!r}: {message}")
