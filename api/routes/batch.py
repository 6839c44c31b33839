"""What to fill many boxes with."""

from fastapi import APIRouter, Request, Response
from fastapi.responses import StreamingResponse

from api.batch import Asking, BatchAnswer, LinesResponse
from api.batch_reading import LINES, questions
from api.problems import Refused, documented
from api.routes.dependencies import Base
from api.strict_route import StrictRoute, is_json, media_type

router = APIRouter(prefix="/v1", tags=["fill"], route_class=StrictRoute)
PATH = "/v1/fill/batch"
BODY = {
    "required": True,
    "content": {"application/json": {"schema": {"$ref": "#/components/schemas/FillBatch"}}},
}
RESULTS = {"description": "The results, in the order of the questions.", "model": BatchAnswer}


@router.post(
    "/fill/batch",
    openapi_extra={"requestBody": BODY},
    responses={200: RESULTS, **documented(400, 413, 415, 422)},
)
async def fill_batch(request: Request, base: Base) -> Response:
    """Many fill questions in one request: each gets the answer or the problem that it would get by itself, in order.

    As JSON, up to 500 in one list. As `application/x-ndjson`, one `FillQuestion` a line and as many as you like: each
    line is answered by a `BatchResult` in a line as it comes in, and a blank one by nothing. Read while you send, since
    a line is only taken when the results before it have been.
    """
    # Lines are told in words: no media type of them has a schema that generated clients understand.
    asking = Asking(request.scope, request.app.state.max_body_bytes)
    kind = media_type(request)
    if kind == LINES:
        return LinesResponse(asking)
    if is_json(kind):
        asked = await questions(request.stream())
        return StreamingResponse(asking.of_list(asked, base.stamp), media_type="application/json")
    raise Refused("unsupported-media-type", f"Send the body with Content-Type: application/json or {LINES}.")
