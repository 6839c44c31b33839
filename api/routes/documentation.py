"""The interactive reference, drawn without the internet."""

from functools import cache
from pathlib import Path

from fastapi import APIRouter, FastAPI, Response
from fastapi.staticfiles import StaticFiles

STATIC = Path(__file__).resolve().parent.parent / "static"
ASSETS = StaticFiles(packages=[("fastapi_standalone_docs", "static/swagger")])

router = APIRouter(include_in_schema=False)


def page(name: str, media_type: str) -> Response:
    """A file of `api/static`."""
    return Response(_file(name), media_type=media_type)


@cache
def _file(name: str) -> bytes:
    return (STATIC / name).read_bytes()


@router.get("/docs")
async def docs() -> Response:
    """The interactive reference."""
    return page("docs.html", "text/html")


@router.get("/docs/docs.js")
async def docs_script() -> Response:
    """Starts the reference; a file of its own because the page allows no script within it."""
    return page("docs.js", "text/javascript")


@router.get("/favicon.ico")
async def favicon() -> Response:
    """The small picture of the browser tab."""
    return page("favicon.svg", "image/svg+xml")


def serve_assets(app: FastAPI) -> None:
    """Script and stylesheet of the reference, from the installed package."""
    app.mount("/docs/assets", ASSETS, name="docs-assets")
