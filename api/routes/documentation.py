"""The OpenAPI document, the reference drawn from it without the internet, and the files that the pages need."""

from functools import cache
from importlib.resources import files
from pathlib import Path

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import JSONResponse

from api.openapi import document
from api.routes.dependencies import DocumentLane

LARGEST_STYLESHEET = 256_000
STATIC = Path(__file__).resolve().parent.parent / "static"
# Scripts and styles are files of their own because the pages allow none within them.
STATIC_FILES = {
    "/docs": ("docs.html", "text/html"),
    "/docs/docs.js": ("docs.js", "text/javascript"),
    "/favicon.ico": ("favicon.svg", "image/svg+xml"),
    "/fillwright.css": ("fillwright.css", "text/css"),
    "/counter.js": ("counter.js", "text/javascript"),
    "/inter.woff2": ("inter.woff2", "font/woff2"),
    "/inter-license.txt": ("inter-license.txt", "text/plain"),
    "/surfaces.svg": ("surfaces.svg", "image/svg+xml"),
}
ASSETS = {"swagger-ui.css": "text/css", "swagger-ui-bundle.js": "text/javascript"}

router = APIRouter(include_in_schema=False)


@router.get("/openapi.json")
async def openapi(request: Request, lane: DocumentLane) -> Response:
    """The OpenAPI document; writing it takes seconds at the first call, beside which others are answered."""
    return await lane.run(lambda: JSONResponse(document(request.app)))


@router.get("/shop.css")
async def shop_stylesheet(request: Request) -> Response:
    """The shop's own colours, from its folder; without such a file an empty stylesheet."""
    folder: Path | None = request.app.state.shop_folder
    file = folder / "shop.css" if folder else None
    sheet = b""
    if file and file.is_file():
        with file.open("rb") as opened:
            sheet = opened.read(LARGEST_STYLESHEET)
    return Response(sheet, media_type="text/css")


def add_file(path: str, name: str, media_type: str) -> None:
    """A file of `api/static` at a path."""
    content = (STATIC / name).read_bytes()

    async def sent() -> Response:
        return Response(content, media_type=media_type)

    router.add_api_route(path, sent, name=name)


for path, (name, media_type) in STATIC_FILES.items():
    add_file(path, name, media_type)


@router.get("/docs/assets/{name}")
async def docs_asset(name: str) -> Response:
    """Script and stylesheet of the reference, from the installed package."""
    if name not in ASSETS:
        raise HTTPException(404)
    return Response(_asset(name), media_type=ASSETS[name])


@cache
def _asset(name: str) -> bytes:
    return files("fastapi_standalone_docs").joinpath("static", "swagger", name).read_bytes()
