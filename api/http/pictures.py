"""An answer as JSON or as a drawing, as the `Accept` header asks."""

from typing import Annotated, Any

from fastapi import Depends, Request, Response

from api.http.strict_json import media_type_and_parameters

SVG = "image/svg+xml"
DRAWN = {SVG: {"schema": {"type": "string", "description": "An SVG document."}}}
A_PICTURE: dict[int | str, dict[str, Any]] = {200: {"description": "The drawing.", "content": DRAWN}}
OR_A_PICTURE: dict[int | str, dict[str, Any]] = {
    200: {"description": "The answer; as a drawing where `Accept` asks for image/svg+xml.", "content": DRAWN}
}


class Picture(Response):
    """A drawing."""

    media_type = SVG


def drawn(svg: str) -> Picture:
    """An answer as a drawing, where it could have been JSON."""
    return Picture(svg, headers={"Vary": "Accept"})


async def is_picture_wanted(request: Request, response: Response) -> bool:
    """Whether the request asks for a drawing; the answer depends on that header."""
    response.headers["Vary"] = "Accept"
    return wants_picture(request.headers.get("accept", ""))


def wants_picture(accept: str) -> bool:
    """Whether the header prefers a drawing to JSON; a header that names neither gets JSON."""
    weights: dict[str, float] = {}
    for part in accept.split(","):
        kind, parameters = media_type_and_parameters(part)
        weights[kind] = max(weights.get(kind, 0.0), _weight(parameters.get("q", "1")))
    return weights.get(SVG, 0.0) > weights.get("application/json", weights.get("application/*", 0.0))


def _weight(text: str) -> float:
    try:
        return min(max(float(text), 0.0), 1.0)
    except ValueError:
        return 0.0


AsPicture = Annotated[bool, Depends(is_picture_wanted)]
