"""Every error as `application/problem+json` (RFC 9457): one table of kinds, one shape, one place that makes it."""

from collections.abc import Iterable, Mapping
from http import HTTPStatus
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


class Kind(NamedTuple):
    """One kind of problem: its title never changes, so a program may rely on the slug."""

    slug: str
    title: str
    status: int
    meaning: str
    mend: str


KINDS = {
    kind.slug: kind
    for kind in (
        Kind(
            "malformed-json",
            "The body is not JSON.",
            400,
            "The body cannot be read as strict JSON: broken text, not UTF-8, the same name twice, NaN or Infinity, "
            "half a character, or nested too deeply.",
            "Mend the text at the place the error names and send it again.",
        ),
        Kind(
            "invalid-request",
            "The request is not valid.",
            422,
            "The request was read, but some of its values cannot be used: a field that does not exist, a value out of "
            "its range, a number in quotes.",
            "Put right each entry of `errors`; `pointer` says where it stands and `known` what is allowed there.",
        ),
        Kind(
            "unknown-id",
            "An id is not known.",
            422,
            "The request names an id that the knowledge does not have. In a question the status is 422, in a path 404.",
            "Take one of `known`; `did_you_mean` is the nearest spelling.",
        ),
        Kind(
            "unknown-path",
            "There is nothing at this path.",
            404,
            "No route of this service has this path. Paths end without a slash.",
            "See /docs for every path.",
        ),
        Kind(
            "method-not-allowed",
            "This path does not take this method.",
            405,
            "The path exists, but not for this method.",
            "Use one of the methods in the `Allow` header.",
        ),
        Kind(
            "body-too-large",
            "The body is too large.",
            413,
            "The body is larger than this service reads.",
            "Send less in one request.",
        ),
        Kind(
            "batch-too-large",
            "The batch is too large.",
            413,
            "The batch is sent as JSON and holds more questions, or more bytes, than are read at once.",
            "Send it in parts, or as `application/x-ndjson`: one question a line, as many lines as you like.",
        ),
        Kind(
            "head-too-large",
            "The address or the headers are too large.",
            431,
            "What stands before the body, the address and all headers together, is larger than this service reads.",
            "Send a long question as the body of a POST, and leave out headers that are meant for others.",
        ),
        Kind(
            "request-too-slow",
            "The request did not come in time.",
            408,
            "The head of the request was not complete in time, or nothing of its body came for too long.",
            "Send the request again, in one go.",
        ),
        Kind(
            "unsupported-media-type",
            "The body is not sent as JSON.",
            415,
            "The `Content-Type` header is missing or names something else than JSON in UTF-8.",
            "Send the header `Content-Type: application/json`; a batch in lines `Content-Type: application/x-ndjson`.",
        ),
        Kind(
            "not-ready",
            "The service takes no requests now.",
            503,
            "The service is about to stop.",
            "Ask again in a while, or ask another instance.",
        ),
        Kind(
            "internal",
            "Something went wrong on our side.",
            500,
            "The service has a fault. The request may be right.",
            "Report the `instance` of the problem to whoever runs the service; it stands in the log beside the cause.",
        ),
    )
}


class ProblemError(BaseModel):
    """One thing to put right; what is not known of it is left out."""

    model_config = ConfigDict(json_schema_extra=without_defaults)

    location: Literal["body", "query", "path", "header"]
    pointer: str = Field(description="JSON pointer into the body, or `/name` of a query parameter; empty is the whole.")
    code: str = Field(description="Stays the same for the same fault, whatever the words.")
    detail: str = Field(description="What is allowed here, in plain words.")
    known: tuple[str, ...] | None = Field(None, description="What is allowed here.")
    did_you_mean: str | None = Field(None, description="The nearest known spelling.")
    offset: int | None = Field(None, description="Characters before the place where the text stops being JSON.")


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
    503: "The service is about to stop.",
}


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The `responses` of a route that may refuse with these statuses, beside whatever else may go wrong."""
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    named = {status: {"description": MAY_BE[status], "content": content} for status in statuses}
    return {"default": {"description": "Any other problem.", "content": content}, **named}


class Refused(HTTPException):
    """A request that is refused with one kind of problem."""

    def __init__(
        self, slug: str, detail: str, errors: Iterable[ProblemError] = (), *, status: int | None = None
    ) -> None:
        super().__init__(status or KINDS[slug].status, detail)
        self.slug = slug
        self.errors = tuple(errors)


def problem(
    scope: Mapping[str, Any],
    slug: str | None,
    detail: str,
    errors: Iterable[ProblemError] = (),
    *,
    status: int | None = None,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """The one response every error leaves as; a slug of None is a status that needs no page of its own."""
    kind = KINDS.get(slug or "")
    code = status or (kind.status if kind else 500)
    body = Problem(
        type=f"/problems/{kind.slug}" if kind else "about:blank",
        title=kind.title if kind else HTTPStatus(code).phrase,
        status=code,
        detail=detail,
        instance=f"urn:uuid:{scope['fillwright.request_id']}",
        errors=tuple(errors),
    )
    return Response(body.model_dump_json(exclude_none=True), code, headers, MEDIA_TYPE)


def problem_errors(location: Any, found: Iterable[Mistake]) -> list[ProblemError]:
    """Mistakes as they travel."""
    return [
        ProblemError(
            location=location,
            pointer=item.pointer,
            code=item.code,
            detail=item.detail,
            known=item.known or None,
            did_you_mean=item.did_you_mean,
        )
        for item in found
    ]


def unknown_entry(id_: str, known: Iterable[str]) -> Refused:
    """The refusal of an id in a path."""
    names = tuple(known)
    near = nearest(id_, names) if len(id_) <= LONGEST_GUESS else None
    mistake = unknown_id(UnknownId("", id_, names, near))
    return Refused("unknown-id", mistake.detail, problem_errors("path", [mistake]), status=404)
