"""Questions about something beside a box, such as a jug, as the flat fields of a link."""

from collections.abc import Callable, Iterator, Mapping
from typing import Annotated, Any, ClassVar, NamedTuple, TypeVar, get_args, get_origin, get_type_hints

from pydantic import BaseModel, Field

from knowledge.box.question import FLAT_FIELDS, FillQuestion, FlatBox, question_of_box
from knowledge.parts.query_model import as_text, extended
from knowledge.parts.request_model import RequestModel

# Parts whose fields stand in a link by their own names; those of any other follow the name of the part.
PREFIXES = {"label": ""}

# Where a box and what is asked about have a field of one name, that of the box is called so.
OF_BOX = "box_"


class _Field(NamedTuple):
    """A field of a question, or of a part of it: its place there and its name in a link."""

    place: tuple[str, ...]
    name: str
    shape: Any
    words: str
    examples: list[Any] | None


class FlatQuestion(FlatBox):
    """The base of a link: what is asked about, and the box where a field of it is given."""

    asks: ClassVar[type[RequestModel]]

    def question(self) -> Any:
        """The same question as a POST would put it.

        Errors: ValidationError, where two fields contradict each other.
        """
        given = self.model_dump(exclude_defaults=True, exclude={"detail"})
        own = {field.name: field.place for field in _fields(self.asks)}
        asked: dict[str, Any] = {}
        for name in own.keys() & given.keys():
            *parts, last = own[name]
            at = asked
            for part in parts:
                at = at.setdefault(part, {})
            at[last] = given.pop(name)
        if given:
            asked["question"] = question_of_box({_of_box(name): value for name, value in given.items()})
        return self.asks.model_validate(_in_lists(asked, self.asks))


AnyFlat = TypeVar("AnyFlat", bound=FlatQuestion)


def linked_beside_box(question: type[RequestModel]) -> Callable[[type[AnyFlat]], type[AnyFlat]]:
    """Give a link the fields of a question and of its parts; of a list of parts a link holds one."""
    fields: dict[str, Any] = {}
    for one in _fields(question):
        is_list = get_origin(one.shape) is Annotated and get_origin(get_args(one.shape)[0]) is tuple
        described = Field(() if is_list else None, description=one.words, examples=one.examples)
        fields[one.name] = (as_text(one.shape) if is_list else as_text(one.shape) | None, described)
    of_box = get_type_hints(FlatBox, include_extras=True)
    fields |= {f"{OF_BOX}{name}": (of_box[name], FlatBox.model_fields[name]) for name in FLAT_FIELDS if name in fields}

    def of(model: type[AnyFlat]) -> type[AnyFlat]:
        made = extended(model, fields)
        made.asks = question
        return made

    return of


def _of_box(name: str) -> str:
    return name if name in FLAT_FIELDS else name.removeprefix(OF_BOX)


def _fields(model: type[BaseModel], place: tuple[str, ...] = (), prefix: str = "", words: str = "") -> Iterator[_Field]:
    """The fields of a question and of its parts, but for its box; a part's field yields to one of the same name."""
    shapes, own = get_type_hints(model, include_extras=True), set()
    parts = {}
    for name, field in model.model_fields.items():
        part = _part(field.annotation)
        if part is None:
            own.add(f"{prefix}{name}")
            told = f"{words} {field.description}".strip()
            yield _Field((*place, name), f"{prefix}{name}", shapes[name], told, field.examples)
        elif part is not FillQuestion:
            parts[name] = part
    for name, part in parts.items():
        before = f"{prefix}{PREFIXES.get(name, f'{name}_')}"
        about = f"{words} {model.model_fields[name].description}".strip()
        yield from (one for one in _fields(part, (*place, name), before, about) if one.name not in own)


def _part(annotation: Any) -> type[BaseModel] | None:
    shapes = (annotation, *get_args(annotation))
    return next((one for one in shapes if isinstance(one, type) and issubclass(one, BaseModel)), None)


def _in_lists(asked: Mapping[str, Any], model: type[BaseModel]) -> dict[str, Any]:
    """The question with a list of one part wherever it holds a list of them."""
    found = {}
    for name, value in asked.items():
        annotation = model.model_fields[name].annotation
        if isinstance(value, dict) and (part := _part(annotation)):
            value = _in_lists(value, part)
            value = [value] if get_origin(annotation) is tuple else value
        found[name] = value
    return found
