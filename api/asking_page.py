"""From an address to an answer, or to the mistakes in it: what the counter page and the slip have in common."""

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from pydantic import ValidationError

from api.handlers import MOST_ERRORS
from api.permalink import field_of, repeated
from api.wording import SENTENCES, Mistake, mistakes, unknown_id
from knowledge.base import KnowledgeBase
from knowledge.box.question import FlatFillQuestion
from knowledge.errors import UnknownIds
from knowledge.fill.answer import FullFillAnswer
from knowledge.fill.compute import compute_fill_answer
from knowledge.shop.shop import Shop


class RequestModel(NamedTuple):
    """The fields of an address with their answer, or with what is wrong with them."""

    values: Mapping[str, str]
    answer: FullFillAnswer | None
    mistakes: tuple[Mistake, ...] = ()

    @property
    def status(self) -> int:
        """The status of a page that shows it."""
        return 422 if self.answer is None else 200


def asked(given: Iterable[tuple[str, str]], values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> RequestModel:
    """The answer to the flat fields of an address, where nothing is given twice."""
    if twice := repeated(given):
        code = "repeated_parameter"
        return RequestModel(
            values, None, tuple(Mistake(f"/{name}", code, SENTENCES[code]) for name in twice[:MOST_ERRORS])
        )
    try:
        question = FlatFillQuestion.model_validate(values)
        return RequestModel(values, compute_fill_answer(question.question(), base, shop, detail="full"))
    except ValidationError as error:
        told = error.errors(include_url=False, include_input=False)[:MOST_ERRORS]
        found = tuple(mistakes(told, FlatFillQuestion))
    except UnknownIds as error:
        found = tuple(unknown_id(item, f"/{field_of(item.pointer)}") for item in error.items)
    return RequestModel(values, None, found)
