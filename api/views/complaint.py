"""A complaint laid out for its page: the first check, and what each reply that is still open would change."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from api.http.handlers import asked_by_link
from api.permalink import address, as_given
from api.views.fill import SENTENCES
from api.views.rows import JOBS, rows_of
from knowledge.base import KnowledgeBase
from knowledge.shop.shop import Shop
from knowledge.symptom.answer import FullSymptomAnswer
from knowledge.symptom.compute import compute_symptom_answer
from knowledge.symptom.question import FlatSymptomQuestion

ASKED = ("when", "gears", "engine_off_same", "double_clutch_cures", "after_fluid_change", "grip_test")
MOST_CHECKS = 2
CURES = {"yes": "Fluid cures it", "maybe": "Fluid may cure it", "no": "Fluid does not cure it"}


class OpenReply(NamedTuple):
    """A reply to what is not said yet, what is suspected first then, and the address of that."""

    words: str
    then: str
    href: str


class OpenField(NamedTuple):
    """Something that nobody said yet, and what each reply would change."""

    legend: str
    replies: tuple[OpenReply, ...]


def complaint_view(values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> dict[str, Any]:
    """The answer in full with what could be asked next; nothing while nobody said what is wrong."""
    if not {name for row in JOBS["complaint"].values() for name in row} & values.keys():
        return {}
    answer = _answer(values, base, shop)
    words = {suspect.id: suspect.words for suspect in answer.suspects}
    return {
        "view": answer,
        "cures": CURES[answer.fluid_can_cure],
        "say": _beside_its_checks(answer),
        "checks": [
            (check, [(it.result, [words[id] for id in it.points_to if id in words]) for it in check.outcomes])
            for check in answer.next_checks[:MOST_CHECKS]
        ],
        "open_fields": tuple(_open_fields(values, answer, base, shop)),
    }


def _answer(values: Mapping[str, str], base: KnowledgeBase, shop: Shop) -> FullSymptomAnswer:
    answer = compute_symptom_answer(asked_by_link(FlatSymptomQuestion, as_given(values)), base, shop, "full")
    assert isinstance(answer, FullSymptomAnswer)
    return answer


def _open_fields(
    values: Mapping[str, str], answer: FullSymptomAnswer, base: KnowledgeBase, shop: Shop
) -> Iterator[OpenField]:
    """The fields of which some reply changes what is suspected first or what fluid can do."""
    now = answer.fluid_can_cure, _first(answer)
    for field in (field for row in rows_of("complaint", values, base, shop) for field in row.fields):
        if field.name not in ASKED or field.value:
            continue
        changed = {choice: _answer({**values, field.name: choice.value}, base, shop) for choice in field.choices[1:]}
        found = {choice: (then.fluid_can_cure, _first(then)) for choice, then in changed.items()}
        if any(then != now for then in found.values()):
            yield OpenField(
                field.legend,
                tuple(
                    OpenReply(
                        choice.words,
                        "; ".join(_changed((CURES[cures].lower(), suspect), (CURES[now[0]].lower(), now[1]))),
                        address("complaint", {**values, field.name: choice.value}),
                    )
                    for choice, (cures, suspect) in found.items()
                ),
            )


def _changed(then: tuple[str, ...], now: tuple[str, ...]) -> Iterator[str]:
    """What is another than now."""
    return (words for words, before in zip(then, now, strict=True) if words != before)


def _beside_its_checks(answer: FullSymptomAnswer) -> str:
    """What is read aloud, without what the headline and the first check say."""
    told = SENTENCES.split(answer.say)
    first = 1 if answer.suspects and answer.suspects[0].leads else 0
    return " ".join(one for one in told[first:] if not one.startswith("First "))


def _first(answer: FullSymptomAnswer) -> str:
    return answer.suspects[0].words if answer.suspects else "nothing in particular"
