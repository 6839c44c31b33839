"""What to fill many boxes with."""

from fastapi import APIRouter, Request, Response

from api.batch import LINES, Batch, BatchAnswer, LinesResponse, questions
from api.http.media_types import body_type, is_json
from api.http.problems import Refused, documented
from api.http.strict_route import StrictRoute
from api.routes.dependencies import Base, DetailAsked

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
async def fill_batch(request: Request, base: Base, answers: DetailAsked) -> Response:
    """Many fill questions in one request: each gets the answer or the problem that it would get by itself, in order.

    As JSON, up to 500 in one list. As `application/x-ndjson`, one question a line and as many as you like: each line is
    answered by a `BatchResult` in a line as it comes in, and a blank one by nothing. Read while you send: a client that
    sends some megabytes and reads nothing is refused. A question may carry a `key` of at most 100 characters; its
    result has it too. `detail=full` adds to every answer what it adds to one.
    """
    # Lines are described in words: no media type of them has a schema that generated clients understand.
    settings, watched = request.app.state.settings, request.app.state.shop
    batch = Batch(base, lambda: watched.now.shop, request.scope["request_id"], settings.max_body_bytes, answers.detail)
    kind = body_type(request.headers)
    if kind == LINES:
        return LinesResponse(batch, settings.read_timeout)
    if is_json(kind):
        answer = await batch.of_list(questions(await request.body()))
        return Response(answer.model_dump_json(), media_type="application/json")
    raise Refused("unsupported-media-type", f"Send the body with Content-Type: application/json or {LINES}.")
