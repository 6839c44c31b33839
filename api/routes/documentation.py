"""The interactive reference, drawn without the internet."""

from functools import cache
from importlib.resources import files
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import JSONResponse

from api.openapi import document

STATIC = Path(__file__).resolve().parent.parent / "static"
ASSETS = {"swagger-ui.css": "text/css", "swagger-ui-bundle.js": "text/javascript"}

router = APIRouter(include_in_schema=False)


def page(name: str, media_type: str) -> Response:
    """A file of `api/static`."""
    return Response(_file(name), media_type=media_type)


@cache
def _file(name: str) -> bytes:
    return (STATIC / name).read_bytes()


@router.get("/openapi.json")
def openapi(request: Request) -> Response:
    """The OpenAPI document; writing it takes a while, beside which others are answered."""
    return JSONResponse(document(request.app))


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


@router.get("/docs/assets/{name}")
async def docs_asset(name: str) -> Response:
    """Script and stylesheet of the reference, from the installed package."""
    if name not in ASSETS:
        raise HTTPException(404)
    return Response(_asset(name), media_type=ASSETS[name])


@cache
def _asset(name: str) -> bytes:
    return files("fastapi_standalone_docs").joinpath("static", "swagger", name).read_bytes()
