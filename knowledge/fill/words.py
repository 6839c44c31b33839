"""The answer in one line, and in a few words to read aloud."""

from collections.abc import Iterable, Iterator, Sequence

from knowledge.drain.answer import Leftover
from knowledge.fill.answer import FirstShifts, Leader, Outcome
from knowledge.fill.conflict import (
    conflict_in_words,
    proof_that_would_do,
    spoken_c,
    what_each_wants,
    what_settles_it,
    who_names_it,
)
from knowledge.fill.service_data import care_of_no_class, grave_reason
from knowledge.judging.judgement import Judgement
from knowledge.judging.questions import OpenQuestion
from knowledge.text import listed, plain, within_a_sentence

MOST_WORDS = 40
CHECK_THE_BOOK = "Check the book first."
ASK_FOR_THE_RINGS = "Ask first whoever sold the rings."
AND_MEANT = ", and that is meant today"
DO_NOT_FILL = "Do not fill yet"
NOTHING_YET = "Pour nothing on a guess."
NO_AXLE_OIL_ON_A_GUESS = "Never pour axle oil on a guess."
ONLY_THE_BOOK = "No class of fluid fits this box by itself: only what its book names."


def outcome_of(judgement: Judgement) -> Outcome:
    """Whether the answer is settled, hangs on what is open, is in conflict with the book, or fits no class."""
    named = judgement.named
    if named.disagrees or not named.is_possible or grave_reason(judgement):
        return "conflict"
    return judgement.lead.outcome if named.is_listed else "settled"


def summary(outcome: Outcome, judgement: Judgement, questions: Sequence[OpenQuestion]) -> str:
    """One plain sentence or two, of at most 140 characters."""
    if outcome == "conflict":
        return f"{DO_NOT_FILL}: {conflict_in_words(judgement)}."
    if outcome == "none-suitable":
        return ONLY_THE_BOOK
    named = judgement.named
    if not named.is_listed:
        return f"{_as_printed(judgement)} No class here has that grade."
    if outcome == "depends":
        if not questions:
            return f"Nobody can tell more. Then {_at_best(judgement)}."
        return f"Ask first {_short(questions[0], judgement)}. Until then {_at_best(judgement)}."
    if judgement.is_asked_for(judgement.leader or 0):
        return " ".join((_as_named(judgement), *_as_good(judgement)))
    return f"Fill {_fill(judgement)}{_with_care(judgement)}. {_check(judgement)}"


def say(
    outcome: Outcome,
    judgement: Judgement,
    questions: Sequence[OpenQuestion],
    will_do: Sequence[int],
    leader: Leader | None,
    left: Leftover | None,
) -> str:
    """What to read aloud, in at most 40 words: what to fill, what else will do, what never to pour, and the book."""
    named = judgement.named
    if outcome == "conflict":
        return within(NOTHING_YET, *what_settles_it(judgement))
    if outcome == "none-suitable":
        wanted = [*what_each_wants(judgement), *proof_that_would_do(judgement)]
        return within(NOTHING_YET, wanted, "Ask the maker of the box or a dealer.")
    if not named.is_listed:
        return within(_as_printed(judgement), leader.care if leader else ())
    if outcome == "depends":
        asked = [_short(one, judgement) for one in questions[:2]]
        first = f"Ask {' and '.join(asked)}." if asked else "More cannot be told."
        least = f"If nobody can tell, {_at_best(judgement)}." if asked else f"Then {_at_best(judgement)}."
        is_axle_oil = judgement.lubricants[judgement.leader or 0].family.protection == "full"
        guess = [] if is_axle_oil else [NO_AXLE_OIL_ON_A_GUESS]
        return within(first, [least, *guess], "The book decides.")
    care, shifts = (leader.care, leader.first_shifts) if leader else ((), None)
    care = (*care, *_comes_out(left, judgement))
    if judgement.is_asked_for(judgement.leader or 0):
        means = [named.means] if named.means else []
        first = f"{_as_named(judgement).partition(AND_MEANT)[0].removesuffix('.')}."
        if care and len(f"{first} {care[0]}".split()) > MOST_WORDS:
            first = f"{first.partition(':')[0]}."
        return within(first, [*care, *means, *_asides(judgement, (), shifts)])
    first = f"Fill {_leader_name(judgement)}{_with_care(judgement)}."
    return within(first, [*care, *_asides(judgement, will_do, shifts)], _check(judgement))


def _short(asked: OpenQuestion, judgement: Judgement) -> str:
    """What a question asks, in a few words; of a box whose layout is known, how old it is."""
    if asked.pointer == "/box_kind" and judgement.question.box_kind:
        return "roughly which year it is of"
    return judgement.base.unknowns[asked.name].short


def _asides(judgement: Judgement, will_do: Sequence[int], shifts: FirstShifts | None) -> Iterator[str]:
    yield from _as_good(judgement)
    if will_do:
        second = judgement.lubricants[will_do[0]]
        is_less = second.long_sump_c < judgement.lubricants[judgement.leader or 0].long_sump_c
        where = f" where the oil stays below {plain(second.long_sump_c)} °C" if is_less else ""
        yield f"{second.short_name} will do{where}."
    if never := _never(judgement):
        yield never
    told_below_c = judgement.base.limit("cold-shift-told-below")
    if shifts and shifts.step == "hard" and (shifts.sure or shifts.at_c < told_below_c):
        yield f"First shifts {'are' if shifts.sure else 'may be'} hard at {spoken_c(shifts.at_c)}."


def _comes_out(left: Leftover | None, judgement: Judgement) -> Iterator[str]:
    """What to do with a fluid of another kind that is in the box."""
    label = judgement.question.in_it_now and judgement.question.in_it_now.label
    if left and label and label.family and left.rounds_to_target != 1:
        kind = within_a_sentence(judgement.base.families[label.family].label)
        again = {None: "", 2: " twice"}.get(left.rounds_to_target, f" {left.rounds_to_target} times")
        yield f"The {kind} in it comes out first: drain and refill{again}, driven warm between."


def _check(judgement: Judgement) -> str:
    """Who is to be asked before it goes in: the book speaks of the old rings where these were changed."""
    is_changed = any(ring.replaced for ring in judgement.question.rings or ())
    return ASK_FOR_THE_RINGS if is_changed else CHECK_THE_BOOK


def _as_named(judgement: Judgement) -> str:
    fill, named = f"Fill {_leader_name(judgement)}{_with_care(judgement)}", judgement.named
    leader = judgement.lubricants[judgement.leader or 0]
    if named.means and named.text != leader.short_name and (named.grade or named.family != leader.family.id):
        return f"{fill}: {who_names_it(judgement)} says {within_a_sentence(named.text)}{AND_MEANT}."
    return f"{fill}: {who_names_it(judgement)} names it."


def _as_printed(judgement: Judgement) -> str:
    careful = ", with care" if care_of_no_class(judgement) else ""
    return f"Fill {within_a_sentence(judgement.named.text)}{careful}: {who_names_it(judgement)} names it."


def _as_good(judgement: Judgement) -> list[str]:
    return [f"{judgement.lubricants[index].short_name} is as good." for index in judgement.alike[:1]]


def within(first: str, asides: Iterable[str], *last: str) -> str:
    """The first and the last sentence with as many between them as fit."""
    sentences = [first]
    for aside in asides:
        if len(" ".join([*sentences, aside, *last]).split()) <= MOST_WORDS:
            sentences.append(aside)
    return " ".join([*sentences, *last])


def _at_best(judgement: Judgement) -> str:
    """`GL-4 or MTF, 75W-80 does least harm`, or that it is what somebody names."""
    if judgement.leader is not None and judgement.is_asked_for(judgement.leader):
        return f"{_fill(judgement)} is what {who_names_it(judgement)} names"
    safest = judgement.safest
    if safest in (judgement.leader, None):
        return f"{_fill(judgement)} does least harm"
    least = within_a_sentence(judgement.lubricants[safest].short_name)
    return f"{_leader_name(judgement)} is the most likely, and {least} does least harm"


def _with_care(judgement: Judgement) -> str:
    is_careful = judgement.leader is not None and judgement.verdict(judgement.leader) == "fits-with-care"
    return ", with care" if is_careful else ""


def _leader_name(judgement: Judgement) -> str:
    return within_a_sentence(judgement.lubricants[judgement.leader or 0].short_name)


def _fill(judgement: Judgement) -> str:
    """`GL-4 or MTF, 75W-90`."""
    if not judgement.alike:
        return _leader_name(judgement)
    oils = [judgement.lubricants[index] for index in (judgement.leader or 0, *judgement.alike)]
    kinds = dict.fromkeys(within_a_sentence(oil.family.label) for oil in oils)
    return f"{listed(kinds, 'or')}, {oils[0].grade}"


def _never(judgement: Judgement) -> str | None:
    """`No GL-5: it eats the bronze.`, of the first kind of which every class is refused for what it does to the box.

    Where plain axle oil is refused in some cases only, it is warned of instead.
    """
    if judgement.leader is not None and judgement.lubricants[judgement.leader].family.protection == "full":
        return None
    found = None
    for family in judgement.base.families.values():
        is_plain_axle_oil = family.protection == "full" and not family.limited_slip
        if found and not is_plain_axle_oil:
            continue
        indices = judgement.of_family(family.id)
        is_refused = all(judgement.verdict(index) == "does-not-fit" for index in indices)
        is_sure = is_refused and all(map(judgement.is_refused_whatever_is_open, indices))
        if is_sure and not found and (reason := judgement.aloud(family.id)):
            found = f"No {family.label}: it {reason}."
        if is_plain_axle_oil and not is_sure and any(judgement.verdict(index) != "fits" for index in indices):
            return NO_AXLE_OIL_ON_A_GUESS
    return found
