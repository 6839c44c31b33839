"""An answer as JSON or as a picture, as the `Accept` header asks."""

from collections.abc import Callable
from typing import Annotated, Any, NamedTuple, TypeVar

from fastapi import Depends, Request, Response

from api.charts.chart import Chart
from api.http.media_types import media_type_and_parameters

SVG = "image/svg+xml"
Answer = TypeVar("Answer")


class Picture(Response):
    """A drawing."""

    media_type = SVG


DRAWN = {SVG: {"schema": {"type": "string", "description": "An SVG document."}}}
A_PICTURE: dict[int | str, dict[str, Any]] = {200: {"description": "The drawing.", "content": DRAWN}}
OR_A_PICTURE: dict[int | str, dict[str, Any]] = {
    200: {"description": "The answer; as a drawing where `Accept` asks for image/svg+xml.", "content": DRAWN}
}


class Wanted(NamedTuple):
    """How the caller wants the answer."""

    as_picture: bool

    def form(self, answer: Answer, chart: Callable[[Answer], Chart]) -> Answer | Picture:
        """The answer itself, or drawn."""
        return Picture(chart(answer).svg(), headers={"Vary": "Accept"}) if self.as_picture else answer


async def wanted(request: Request, response: Response) -> Wanted:
    """What the request asks for; the answer depends on that header."""
    response.headers["Vary"] = "Accept"
    return Wanted(wants_picture(request.headers.get("accept", "")))


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


AsWanted = Annotated[Wanted, Depends(wanted)]
