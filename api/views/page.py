"""A page with its bar, its foot and, where it is about a box, its rows."""

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import Request, Response

from api.http.problems import Problem
from api.permalink import address, box_of, field_of
from api.rendering import rendered
from api.shop import Snapshot
from api.views.rows import legends, rows_of
from api.wording import ProblemError
from knowledge.base import KnowledgeBase
from knowledge.shop.shop import NO_SHOP

JOBS = (
    ("./", "What to fill", "Fill"),
    ("jug", "Is this jug right?", "Jug"),
    ("drain", "Drain and top up", "Drain"),
    ("complaint", "It grinds or is stiff", "Trouble"),
    ("ring", "Which ring?", "Ring"),
)
MORE = (
    ("faq", "Questions customers ask"),
    ("rings", "What are my rings?"),
    ("chart", "Wall chart"),
    ("learn", "Ten boxes to learn from"),
    ("docs", "For programs"),
)
MORE_OF_THE_SHOP = (*MORE, ("stock", "What to stock"))
MORE_OF_CUSTOMERS = MORE[2:4]
CUSTOMERS = (
    ("ask", "What to fill", "Fill"),
    ("faq", "Questions", "Questions"),
    ("rings", "What are my rings?", "Rings"),
)
TOLD = {
    "unknown-path": ("There is no such page", "Look at the address again, or begin at the counter."),
    "busy": ("Busy just now", "More is asked than can be answered at once. Wait a moment, then try again."),
}


def problem_page(request: Request, body: Problem) -> Response:
    """A problem as people read it, with the bar; what passes can be tried again."""
    slug = body.type.rpartition("/")[2]
    bar: dict[str, Any] = {"jobs": CUSTOMERS, "more": ()} if request.app.state.settings.public else {}
    return page(
        "problem.html",
        body.status,
        told=TOLD.get(slug, (body.title, body.detail)),
        again=f"{request.url}" if body.status == HTTPStatus.SERVICE_UNAVAILABLE else None,
        root="../" * (request.scope["path"].count("/") - 1),
        **bar,
    )


def page(template: str, status: int = HTTPStatus.OK, *, here: str = "", **context: Any) -> Response:
    """A page with its bar and its foot; `query` carries the box from job to job."""
    context = {"here": here, "query": "", "root": "", "jobs": JOBS, "more": MORE, **context}
    return Response(rendered(template, **context), status, media_type="text/html")


def box_page(
    template: str,
    values: Mapping[str, str],
    base: KnowledgeBase,
    now: Snapshot,
    *,
    job: str | None = None,
    is_public: bool = False,
    status: int = HTTPStatus.OK,
    mistakes: Sequence[ProblemError] = (),
    ours: Mapping[str, str] | None = None,
    view: Any = None,
    **context: Any,
) -> Response:
    """A page with the rows of its job, if it has any, and of the box; a mistake stands beside its field.

    The bar takes the box along to the other jobs; what customers see has a bar of its own and no shop.
    """
    wrong = {field_of(item.pointer): item.detail for item in mistakes}
    shop = NO_SHOP if is_public else now.shop
    of_job = rows_of(job, values, base, now.shop, mistakes=wrong) if job else ()
    of_box = rows_of("box", values, base, shop, ours, wrong)
    own = {field.name for row in of_job for field in row.fields}
    form = (*of_job, *(row for row in of_box if own.isdisjoint(field.name for field in row.fields)))
    return page(
        template,
        status,
        here="ask" if is_public else job or "./",
        jobs=CUSTOMERS if is_public else JOBS,
        more=MORE_OF_CUSTOMERS if is_public else MORE_OF_THE_SHOP,
        query=address("", box_of(values)),
        values=values,
        form=form,
        own_rows=len(of_job),
        legends=legends(form),
        said="\N{NO-BREAK SPACE}· ".join(row.told for row in form if row.state == "said"),
        shop=None if is_public else now,
        is_public=is_public,
        families=[row.label for row in base.families.values()],
        mistakes=mistakes,
        view=view,
        **context,
    )
