"""Every error as `application/problem+json` (RFC 9457): one table of kinds, one shape, one place that makes it."""

import tomllib
from collections.abc import Iterable, Mapping
from http import HTTPStatus
from pathlib import Path
from typing import Any

from fastapi import Response
from fastapi.exceptions import HTTPException
from pydantic import BaseModel, Field
from starlette.types import Scope

from api.wording import CODES, ProblemError, unknown_id
from knowledge.errors import UnknownId
from knowledge.text import nearest

MEDIA_TYPE = "application/problem+json"
LONGEST_GUESS = 100
# Until then most of those who wait have been answered, and a stopped service is up again.
RETRY_AFTER_S = 2


class ProblemPage(BaseModel):
    """One kind of problem, explained; its title never changes, so a program may rely on the slug."""

    slug: str
    title: str
    status: int
    meaning: str
    mend: str
    codes: Mapping[str, str] = Field(description="The codes that its `errors` may have, and what each means.")


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_name(name).read_text(encoding="utf-8"))


def _codes(slug: str) -> dict[str, str]:
    return {code: row["means"] for code, row in CODES.items() if row.get("kind", "invalid-request") == slug}


KINDS = {slug: ProblemPage(slug=slug, codes=_codes(slug), **kind) for slug, kind in _table("problems.toml").items()}


class Problem(BaseModel):
    """Any answer with a status of 400 or more."""

    type: str = Field(description="Address of a page that explains this kind of problem.")
    title: str = Field(description="Stays the same for one kind.")
    status: int
    detail: str = Field(description="What happened this time.")
    instance: str = Field(description="Names this very answer in the log of the service.")
    errors: tuple[ProblemError, ...]


# What each status of a documented refusal comes from.
MAY_BE = {
    400: "The body cannot be read as JSON.",
    404: "No entry has this id.",
    408: "The body did not come in time.",
    413: "The body is larger than this service reads.",
    415: "The body is not sent as JSON.",
    422: "A value or a parameter cannot be used, or an id in the question is not known.",
    503: "The service is stopping or has too much to do; ask again later.",
}


# Any route refuses a parameter that it does not know or that is repeated.
EVERYWHERE = (422, 503)
A_BODY = (400, 408, 413, 415)


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The `responses` of a route that may refuse with these statuses, beside those that each may and any other."""
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    named: dict[int | str, dict[str, Any]] = {
        status: {"description": MAY_BE[status], "content": content} for status in (*statuses, *EVERYWHERE)
    }
    return {"default": {"description": "Any other problem.", "content": content}, **named}


class Refused(HTTPException):
    """A request that is refused with one kind of problem.

    It is an HTTPException so that the framework lets it pass while it reads a body.
    """

    def __init__(
        self, slug: str, detail: str, errors: Iterable[ProblemError] = (), *, status: int | None = None
    ) -> None:
        super().__init__(status or KINDS[slug].status, detail)
        self.slug = slug
        self.errors = tuple(errors)

    @classmethod
    def parameter(cls, name: str, code: str, detail: str) -> "Refused":
        """The refusal of one parameter of a query, or of all of it where the name is empty."""
        place = f"/{name}" if name else ""
        return cls("invalid-request", detail, [ProblemError(location="query", pointer=place, code=code, detail=detail)])

    def problem(self, scope: Scope) -> Problem:
        """The problem as it is sent in answer to this request."""
        return problem(self.slug, self.detail, scope, self.errors, self.status_code)


def problem(
    slug: str | None, detail: str, scope: Scope, errors: Iterable[ProblemError] = (), status: int | None = None
) -> Problem:
    """One problem in answer to a request; a slug of None is a status that needs no page of its own."""
    kind = KINDS.get(slug or "")
    code = status or (kind.status if kind else 500)
    return Problem(
        type=f"{scope['address']}/problems/{kind.slug}" if kind else "about:blank",
        title=kind.title if kind else HTTPStatus(code).phrase,
        status=code,
        detail=detail,
        instance=f"urn:uuid:{scope['request_id']}",
        errors=tuple(errors),
    )


def passing_headers(status: int) -> dict[str, str]:
    """When to ask again, of a problem that will pass."""
    return {"Retry-After": f"{RETRY_AFTER_S}"} if status == HTTPStatus.SERVICE_UNAVAILABLE else {}


def problem_response(body: Problem, headers: Mapping[str, str] | None = None) -> Response:
    """A problem as a response."""
    told = {**(headers or {}), **passing_headers(body.status)}
    return Response(body.model_dump_json(), body.status, told, MEDIA_TYPE)


def known_id(id_: str, known: Iterable[str]) -> str:
    """The id that a path names, in capitals or not.

    Errors: Refused as unknown-id.
    """
    names = tuple(known)
    if (in_small := id_.lower()) in names:
        return in_small
    near = nearest(id_, names) if len(id_) <= LONGEST_GUESS else None
    error = unknown_id(UnknownId("", id_, names, near), "path")
    raise Refused("unknown-id", error.detail, [error], status=404)


def examples(scope: Scope) -> dict[str, Problem]:
    """A problem of each kind, and of each status that it comes with, by its name in the OpenAPI document."""
    made = {}
    for name, shown in _table("problem_examples.toml").items():
        kind = KINDS[shown.get("slug", name)]
        errors = [ProblemError(**error) for error in shown.get("errors", ())]
        made[name] = problem(kind.slug, shown.get("detail", kind.meaning), scope, errors, shown.get("status"))
    return made
