"""An answer as JSON or as a picture, as the `Accept` header asks."""

from typing import Annotated, Any

from fastapi import Depends, Response

from api.http.accept import SVG, is_picture_wanted


class Picture(Response):
    """A drawing."""

    media_type = SVG


DRAWN = {SVG: {"schema": {"type": "string", "description": "An SVG document."}}}
A_PICTURE: dict[int | str, dict[str, Any]] = {200: {"description": "The drawing.", "content": DRAWN}}
OR_A_PICTURE: dict[int | str, dict[str, Any]] = {
    200: {"description": "The answer; as a drawing where `Accept` asks for image/svg+xml.", "content": DRAWN}
}


def drawn(svg: str) -> Picture:
    """An answer as a drawing, where it could have been JSON."""
    return Picture(svg, headers={"Vary": "Accept"})


AsPicture = Annotated[bool, Depends(is_picture_wanted)]
