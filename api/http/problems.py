"""Every error as `application/problem+json` (RFC 9457): one table of kinds, one shape, one place that makes it."""

import tomllib
from collections.abc import Iterable, Mapping
from http import HTTPStatus
from pathlib import Path
from typing import Any, Literal, NamedTuple

from fastapi import Response
from fastapi.exceptions import HTTPException
from pydantic import BaseModel, ConfigDict, Field

from api.wording import Mistake, unknown_id
from knowledge.errors import UnknownId
from knowledge.parts.request_model import without_defaults
from knowledge.text import nearest

MEDIA_TYPE = "application/problem+json"
LONGEST_GUESS = 100


def is_none(value: object) -> bool:
    """Whether a field is left out of a problem."""
    return value is None


class Kind(NamedTuple):
    """One kind of problem: its title never changes, so a program may rely on the slug."""

    slug: str
    title: str
    status: int
    meaning: str
    mend: str


KINDS = {
    slug: Kind(slug, **kind)
    for slug, kind in tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")).items()
}


class ProblemError(BaseModel):
    """One thing to put right; what is not known of it is left out."""

    model_config = ConfigDict(json_schema_extra=without_defaults)

    location: Literal["body", "query", "path", "header"]
    pointer: str = Field(description="JSON pointer into the body, or `/name` of a query parameter; empty is the whole.")
    code: str = Field(description="Stays the same for the same fault, whatever the words.")
    detail: str = Field(description="What is allowed here, in plain words.")
    known: tuple[str, ...] | None = Field(None, description="What is allowed here.", exclude_if=is_none)
    did_you_mean: str | None = Field(None, description="The nearest known spelling.", exclude_if=is_none)
    offset: int | None = Field(
        None, description="Characters before the place where the text stops being JSON.", exclude_if=is_none
    )


class Problem(BaseModel):
    """Any answer with a status of 400 or more."""

    type: str = Field(description="Path of a page that explains this kind of problem.")
    title: str = Field(description="Stays the same for one kind.")
    status: int
    detail: str = Field(description="What happened this time.")
    instance: str = Field(description="Names this very answer in the log of the service.")
    errors: tuple[ProblemError, ...]


# What each status of a documented refusal comes from.
MAY_BE = {
    400: "The body cannot be read as JSON.",
    404: "No entry has this id.",
    413: "The body is larger than this service reads.",
    415: "The body is not sent as JSON.",
    422: "A value cannot be used, or an id in the question is not known.",
}


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The `responses` of a route that may refuse with these statuses, beside whatever else may go wrong."""
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    named: dict[int | str, dict[str, Any]] = {
        status: {"description": MAY_BE[status], "content": content} for status in statuses
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

    def problem(self, request_id: str) -> Problem:
        """The problem as it is sent."""
        return problem(self.slug, self.detail, request_id, self.errors, self.status_code)


def problem(
    slug: str | None, detail: str, request_id: str, errors: Iterable[ProblemError] = (), status: int | None = None
) -> Problem:
    """One problem; a slug of None is a status that needs no page of its own."""
    kind = KINDS.get(slug or "")
    code = status or (kind.status if kind else 500)
    return Problem(
        type=f"/problems/{kind.slug}" if kind else "about:blank",
        title=kind.title if kind else HTTPStatus(code).phrase,
        status=code,
        detail=detail,
        instance=f"urn:uuid:{request_id}",
        errors=tuple(errors),
    )


def problem_response(body: Problem, headers: Mapping[str, str] | None = None) -> Response:
    """A problem as a response."""
    return Response(body.model_dump_json(), body.status, headers, MEDIA_TYPE)


def problem_errors(location: Any, found: Iterable[Mistake]) -> list[ProblemError]:
    """Mistakes as entries of a problem."""
    return [
        ProblemError(location=location, **{**mistake._asdict(), "known": mistake.known or None}) for mistake in found
    ]


def unknown_entry(id_: str, known: Iterable[str]) -> Refused:
    """The refusal of an id in a path."""
    names = tuple(known)
    near = nearest(id_, names) if len(id_) <= LONGEST_GUESS else None
    mistake = unknown_id(UnknownId("", id_, names, near))
    return Refused("unknown-id", mistake.detail, problem_errors("path", [mistake]), status=404)
