"""Which question to ask next, what its replies lead to, and what is safest if nobody can answer."""

from collections.abc import Sequence
from functools import reduce
from operator import or_

from knowledge.box.facts import FACTS
from knowledge.box.worlds import Field, Worlds
from knowledge.fill.answer import AskNext, Reply
from knowledge.judging.judged import Judged
from knowledge.judging.rank import leader
from knowledge.judging.rules import RULES
from knowledge.judging.wording import value_words
from knowledge.text import value_text

AXES_READ = frozenset(axis for rule in RULES for fact in rule.reads for axis in FACTS[fact].reads)


def ask_next(judged: Sequence[Judged], worlds: Worlds) -> tuple[AskNext, ...]:
    """A question for each field left out that any rule reads, the one that settles most first.

    What a ring is like is asked once it is known that there are rings.

    A class is undecided while it is refused in some worlds and not in others. Ties go to the question
    whose replies lead to the most different classes, then to the one that is easiest to answer.
    """
    undecided = [item for item in judged if item.verdict(worlds.every) == "depends"]
    served = reduce(or_, (item.serves for item in judged))
    asked = []
    for field in worlds.unknown:
        if field.axis not in AXES_READ or (worlds.question.rings is None and field.pointer.startswith("/rings/")):
            continue
        question = _question(field, undecided, judged, served, worlds)
        leaders = len({reply.then for reply in question.answers})
        effort = worlds.base.unknowns[field.name].effort
        asked.append(((-question.settles, -leaders, effort), question))
    return tuple(question for _, question in sorted(asked, key=lambda pair: pair[0]))


def _question(
    field: Field, undecided: Sequence[Judged], judged: Sequence[Judged], served: int, worlds: Worlds
) -> AskNext:
    row = worlds.base.unknowns[field.name]
    decided = sum(
        part.worlds.bit_count() * sum(not item.depends(part.worlds) for item in undecided) for part in field.parts
    )
    return AskNext(
        pointer=field.pointer,
        question=row.question,
        how_to_tell=row.how_to_tell,
        settles=decided / (worlds.count * len(undecided)) if undecided else 0.0,
        answers=tuple(
            Reply(
                value=value_text(part.value),
                words=value_words(field.name, part.value, worlds.base),
                then=(first := leader(judged, part.worlds, worlds)) and first.oil.id,
                served=(served & part.worlds).bit_count() / part.worlds.bit_count(),
            )
            for part in field.parts
        ),
    )


def safest(order: Sequence[Judged], worlds: Worlds, *, is_provable: bool) -> tuple[str | None, str | None]:
    """What the service data names, else the class that is refused in no world; or None with the reason."""
    if order and not worlds.named.is_listed:
        return None, "What the service data names is the safest, whatever else is open."
    is_refused_nowhere = next((item for item in order if item.verdict(worlds.every) != "depends"), None)
    if order and order[0].is_asked_for and order[0] is not is_refused_nowhere:
        return order[0].oil.id, "The service data names it; only in some case that is still open is it refused."
    if is_refused_nowhere:
        return is_refused_nowhere.oil.id, None
    if is_provable:
        return None, "Every class is refused as such: only the service data or the copper strip of a jug can settle it."
    if not order:
        return None, "Every class is refused whatever the answers: only the manufacturer's service data can settle it."
    return None, "Every class is refused in some case that is still open: ask before you fill."
