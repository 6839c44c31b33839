"""What to fill a box with, or many."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from api.batch import LINES, Batch, BatchAnswer, LinesResponse, in_lines, questions
from api.charts.leader_map import leader_map_svg
from api.charts.window import window_svg
from api.http.lanes import while_waited_for
from api.http.pictures import OR_A_PICTURE, AsPicture, Picture, drawn
from api.http.problems import A_BODY, Refused, documented, known_id
from api.http.strict_json import body_type, is_json
from api.http.strict_route import StrictRoute
from api.permalink import linked
from api.routes.dependencies import Base, CurrentShop, DetailAsked, DetailQuery, LongLane, QuestionLane, named
from knowledge.base import KnowledgeBase
from knowledge.box.axes import takes_long
from knowledge.box.question import FillQuestion, FlatFillQuestion
from knowledge.fill.answer import FillAnswer, FullFillAnswer, LubricantAnswer
from knowledge.fill.compute import compute_fill_answer, compute_lubricant_answer
from knowledge.fill.firmness import Firmness, FirmnessQuestion, firmness
from knowledge.fill.leader_map import LeaderMap, leader_map
from knowledge.fill.turns import Turns, turns_of
from knowledge.fill.working_window import WorkingWindow, working_window
from knowledge.shop.shop import Shop

router = APIRouter(prefix="/v1", tags=["fill"], route_class=StrictRoute)
BATCH = "/v1/fill/batch"
BATCH_BODY = {
    "required": True,
    "content": {
        "application/json": {"schema": {"$ref": "#/components/schemas/FillBatch"}},
        LINES: {**in_lines("BatchQuestion"), "example": '{"key": "bench 1", "duty": "street"}\n{"key": "bench 2"}\n'},
    },
}
BATCH_RESULTS = {
    "description": "The results, in the order of the questions.",
    "model": BatchAnswer,
    "content": {"application/json": {}, LINES: in_lines("BatchResult")},
}
LubricantId = Annotated[str, named("/v1/lubricants", "gl-4-75w-90")]


class FillLink(FlatFillQuestion, DetailQuery):
    """A fill question as a link, and how much of its answer is asked for."""


@router.post("/fill", responses=documented(*A_BODY))
async def fill(
    request: Request, question: FillQuestion, base: Base, shop: CurrentShop, asked: DetailAsked, lane: QuestionLane
) -> FullFillAnswer | FillAnswer:
    """Which lubricant class to fill, why the others stand behind or are refused, and what to ask next.

    Leave out what you do not know: every plausible value is tried, and the answer says what depends on it.
    `{}` is a question too. `detail=full` adds every class with what is held against it, the cases tried and sources.
    """
    answer = await lane.run_if(takes_long(question), compute_fill_answer, question, base, shop, asked.detail)
    return linked(answer, request.scope["address"])


@router.get("/fill", responses=documented())
async def fill_link(
    request: Request, question: Annotated[FillLink, Query()], base: Base, shop: CurrentShop, lane: QuestionLane
) -> FullFillAnswer | FillAnswer:
    """The same answer from a link: the rings and the plain facts of the box as parameters.

    `facing=none` says that the box has no synchronizer rings. Where it has rings of several kinds, the parameters of a
    ring tell of one set, and `other_facing`, repeated, of what is at the cone of each other one. A parameter left out
    is not known.
    """
    return await fill(request, question.question(), base, shop, question, lane)


@router.post(
    "/fill/batch",
    openapi_extra={"requestBody": BATCH_BODY},
    responses={200: BATCH_RESULTS, **documented(*A_BODY)},
)
async def fill_batch(request: Request, base: Base, answers: DetailAsked) -> Response:
    """Many fill questions in one request: each gets the answer or the problem that it would get by itself, in order.

    As JSON, up to 500 in one list. As `application/x-ndjson`, one question a line and as many as you like: each line is
    answered by a `BatchResult` in a line as it comes in, and a blank one by nothing. Read while you send: a client that
    sends some megabytes and reads nothing is refused. A question may carry a `key` of at most 100 characters; its
    result has it too. `detail=full` adds to every answer what it adds to one.
    """
    settings, watched = request.app.state.settings, request.app.state.shop
    scope, lane = request.scope, request.scope["lanes"]["batches"]
    batch = Batch(base, lambda: watched.now.shop, lane, scope, settings.max_body_bytes, answers.detail)
    kind = body_type(request.headers)
    if kind == LINES:
        return LinesResponse(batch, settings.read_timeout)
    if is_json(kind):
        asked = questions(await request.body())
        answer = await while_waited_for(request.receive, batch.of_list(asked))
        return Response(answer.model_dump_json(), media_type="application/json")
    raise Refused("unsupported-media-type", f"Send the body with Content-Type: application/json or {LINES}.")


@router.post("/fill/lubricants/{id}", responses=documented(404, *A_BODY))
async def fill_lubricant(
    id: LubricantId, question: FillQuestion, base: Base, shop: CurrentShop, lane: QuestionLane
) -> LubricantAnswer:
    """One class explained for one box: every finding of a rule that is concerned, its figures, limits and sources."""
    return await lane.run_if(takes_long(question), _explained, id, question, base, shop)


@router.get("/fill/lubricants/{id}", responses=documented(404))
async def fill_lubricant_link(
    id: LubricantId, question: Annotated[FlatFillQuestion, Query()], base: Base, shop: CurrentShop, lane: QuestionLane
) -> LubricantAnswer:
    """The same explanation from a link."""
    return await fill_lubricant(id, question.question(), base, shop, lane)


@router.get("/fill/window", response_model=WorkingWindow, responses={**documented(), **OR_A_PICTURE})
async def fill_window(
    question: Annotated[FlatFillQuestion, Query()],
    base: Base,
    shop: CurrentShop,
    as_picture: AsPicture,
    lane: QuestionLane,
) -> WorkingWindow | Picture:
    """The grades of `GET /v1/fill` over oil temperature: from where each flows and shifts freely to where it thins out.

    Beside them the coldest start and the hottest oil of the box. No bars where nothing leads.
    """
    asked = question.question()
    window = await lane.run_if(takes_long(asked), working_window, asked, base, shop)
    return drawn(window_svg(window)) if as_picture else window


@router.post("/fill/turns", responses=documented(*A_BODY))
async def fill_turns(question: FillQuestion, base: Base, shop: CurrentShop, lane: LongLane) -> Turns:
    """What would change the leader of `POST /v1/fill`: each field changed by itself, all else as it was asked.

    Temperatures are tried to the whole degree over all that may be stated, sizes to two digits, the nearest change
    first; any other field with each value that the tables know.
    """
    return await lane.run(turns_of, question, base, shop)


@router.post("/fill/firmness", responses=documented(*A_BODY))
async def fill_firmness(asked: FirmnessQuestion, base: Base, shop: CurrentShop, lane: LongLane) -> Firmness:
    """How firm the leader of `POST /v1/fill` is: every figure that no source proves drawn anew within its spread.

    Limits, assumed sizes, sumps of duties, what facings and classes bear: as far as they bear on the box, all at once,
    at least 200 times. Edges of grades and what the trade usually fills are not drawn.
    """
    return await lane.run(firmness, asked, base, shop)


@router.post("/fill/map", response_model=LeaderMap, responses={**documented(*A_BODY), **OR_A_PICTURE})
async def fill_map(
    question: FillQuestion, base: Base, shop: CurrentShop, as_picture: AsPicture, lane: LongLane
) -> LeaderMap | Picture:
    """Who leads over coldest start and hottest oil, whatever is stated of these two, and where this box stands."""
    found = await lane.run(leader_map, question, base, shop)
    return drawn(leader_map_svg(found)) if as_picture else found


@router.get("/fill/map", response_model=LeaderMap, responses={**documented(), **OR_A_PICTURE})
async def fill_map_link(
    question: Annotated[FlatFillQuestion, Query()],
    base: Base,
    shop: CurrentShop,
    as_picture: AsPicture,
    lane: LongLane,
) -> LeaderMap | Picture:
    """The same map from a link."""
    return await fill_map(question.question(), base, shop, as_picture, lane)


def _explained(id: str, question: FillQuestion, base: KnowledgeBase, shop: Shop) -> LubricantAnswer:
    return compute_lubricant_answer(known_id(id, base.lubricant_rows), question, base, shop)
