"""The answer in one line, and in a few words to read aloud."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

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
from knowledge.fill.reasons import meant
from knowledge.fill.service_data import care_of_no_class, grave_reason
from knowledge.judging.judgement import Judgement
from knowledge.judging.questions import OpenQuestion
from knowledge.text import Said, in_a_row, listed, plain, reworded, within_a_sentence

MOST_WORDS = 40
CHECK_THE_BOOK = Said("Check the book first.", "check-the-book")
ASK_FOR_THE_RINGS = Said("Ask first whoever sold the rings.", "ask-who-sold-the-rings")
AND_MEANT = ", and that is meant today"
DO_NOT_FILL = "Do not fill yet"
ASK = {"Ask first": "ask-first", "Ask": "ask"}
WHEN = {"Then": "then", "Until then": "until-then", "If nobody can tell,": "if-nobody-can-tell"}
NOTHING_YET = Said("Pour nothing on a guess.", "pour-nothing-on-a-guess")
NO_AXLE_OIL_ON_A_GUESS = Said("Never pour axle oil on a guess.", "no-axle-oil-on-a-guess")
ONLY_THE_BOOK = Said("No class of fluid fits this box by itself: only what its book names.", "only-what-the-book-names")
NO_CLASS = Said("No class here has that grade.", "no-class-has-that-grade")
NOBODY_KNOWS = Said("Nobody can tell more.", "nobody-can-tell-more")
NOTHING_MORE = Said("More cannot be told.", "more-cannot-be-told")
BOOK_DECIDES = Said("The book decides.", "the-book-decides")
ASK_A_DEALER = Said("Ask the maker of the box or a dealer.", "ask-the-maker-or-a-dealer")


def outcome_of(judgement: Judgement) -> Outcome:
    """Whether the answer is settled, hangs on what is open, is in conflict with the book, or fits no class."""
    named = judgement.named
    if named.disagrees or not named.is_possible or grave_reason(judgement):
        return "conflict"
    return judgement.lead.outcome if named.is_listed else "settled"


def summary(outcome: Outcome, judgement: Judgement, questions: Sequence[OpenQuestion]) -> str:
    """One plain sentence or two, of at most 140 characters."""
    if outcome == "conflict":
        why = conflict_in_words(judgement)
        return Said(f"{DO_NOT_FILL}: {why}.", "do-not-fill-yet", (why,))
    if outcome == "none-suitable":
        return ONLY_THE_BOOK
    named = judgement.named
    if not named.is_listed:
        return in_a_row((_as_printed(judgement), NO_CLASS))
    if outcome == "depends":
        if not questions:
            return in_a_row((NOBODY_KNOWS, _at_best("Then", judgement)))
        return in_a_row((_ask("Ask first", questions[:1], judgement), _at_best("Until then", judgement)))
    if judgement.is_asked_for(judgement.leader or 0):
        return in_a_row((_as_named(judgement), *_as_good(judgement)))
    return in_a_row((_to_fill(_fill(judgement), judgement.alike, judgement), _check(judgement)))


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
        return within(NOTHING_YET, wanted, ASK_A_DEALER)
    if not named.is_listed:
        return within(_as_printed(judgement), leader.care if leader else ())
    if outcome == "depends":
        asked = questions[:2]
        first = _ask("Ask", asked, judgement) if asked else NOTHING_MORE
        least = _at_best("If nobody can tell," if asked else "Then", judgement)
        is_axle_oil = judgement.lubricants[judgement.leader or 0].family.protection == "full"
        guess = [] if is_axle_oil else [NO_AXLE_OIL_ON_A_GUESS]
        return within(first, [least, *guess], BOOK_DECIDES)
    care, shifts = (leader.care, leader.first_shifts) if leader else ((), None)
    care = (*care, *_comes_out(left, judgement))
    if judgement.is_asked_for(judgement.leader or 0):
        means = filter(None, [meant(judgement)])
        fill: str = _as_named(judgement, is_meaning_told=False)
        if care and len(f"{fill} {care[0]}".split()) > MOST_WORDS:
            fill = reworded(fill, f"{fill.partition(':')[0]}.", is_who_left_out=True)
        return within(fill, [*care, *means, *_asides(judgement, (), shifts)])
    first = _to_fill(_leader_name(judgement), (), judgement)
    return within(first, [*care, *_asides(judgement, will_do, shifts)], _check(judgement))


def _ask(begin: str, asked: Sequence[OpenQuestion], judgement: Judgement) -> Said:
    """What to ask, in a few words; of a box whose layout is known, how old it is."""
    is_of_age = bool(judgement.question.box_kind)
    words = [
        "roughly which year it is of"
        if is_of_age and one.pointer == "/box_kind"
        else judgement.base.unknowns[one.name].short
        for one in asked
    ]
    about = tuple(one.name for one in asked)
    return Said(f"{begin} {' and '.join(words)}.", ASK[begin], about=about, is_layout_known=is_of_age)


def _asides(judgement: Judgement, will_do: Sequence[int], shifts: FirstShifts | None) -> Iterator[str]:
    yield from _as_good(judgement)
    if will_do:
        second = judgement.lubricants[will_do[0]]
        is_less = second.long_sump_c < judgement.lubricants[judgement.leader or 0].long_sump_c
        where = f" where the oil stays below {plain(second.long_sump_c)} °C" if is_less else ""
        below = {"below_c": second.long_sump_c if is_less else None}
        yield Said(f"{second.short_name} will do{where}.", "another-will-do", lubricant=second.id, **below)
    if never := _never(judgement):
        yield never
    told_below_c = judgement.base.limit("cold-shift-told-below")
    if shifts and shifts.step == "hard" and (shifts.sure or shifts.at_c < told_below_c):
        text = f"First shifts {'are' if shifts.sure else 'may be'} hard at {spoken_c(shifts.at_c)}."
        yield Said(text, "first-shifts-are-hard", sure=shifts.sure, at_c=shifts.at_c)


def _comes_out(left: Leftover | None, judgement: Judgement) -> Iterator[str]:
    """What to do with a fluid of another kind that is in the box."""
    label = judgement.question.in_it_now and judgement.question.in_it_now.label
    if left and label and label.family and left.rounds_to_target != 1:
        kind = within_a_sentence(judgement.base.families[label.family].label)
        again = {None: "", 2: " twice"}.get(left.rounds_to_target, f" {left.rounds_to_target} times")
        text = f"The {kind} in it comes out first: drain and refill{again}, driven warm between."
        yield Said(text, "old-fluid-comes-out-first", family=label.family, rounds=left.rounds_to_target)


def _check(judgement: Judgement) -> Said:
    """Who is to be asked before it goes in: the book speaks of the old rings where these were changed."""
    is_changed = any(ring.replaced for ring in judgement.question.rings or ())
    return ASK_FOR_THE_RINGS if is_changed else CHECK_THE_BOOK


def _to_fill(fill: str, also: Sequence[int], judgement: Judgement) -> Said:
    careful = _with_care(judgement)
    lubricants = tuple(judgement.lubricants[index].id for index in (judgement.leader or 0, *also))
    return Said(f"Fill {fill}{careful}.", "fill", lubricants=lubricants, with_care=bool(careful))


def _as_named(judgement: Judgement, *, is_meaning_told: bool = True) -> str:
    careful, named, leader = _with_care(judgement), judgement.named, judgement.lubricants[judgement.leader or 0]
    fill, who = f"Fill {_leader_name(judgement)}{careful}", who_names_it(judgement)
    of = {"lubricant": leader.id, "with_care": bool(careful), "by": named.by}
    if named.means and named.text != leader.short_name and (named.grade or named.family != leader.family.id):
        text = f"{fill}: {who} says {within_a_sentence(named.text)}{AND_MEANT if is_meaning_told else ''}."
        return Said(text, "fill-what-is-meant", **of, named=named.text, is_meaning_told=is_meaning_told)
    return Said(f"{fill}: {who} names it.", "fill-what-is-named", **of)


def _as_printed(judgement: Judgement) -> Said:
    careful, named = ", with care" if care_of_no_class(judgement) else "", judgement.named
    text = f"Fill {within_a_sentence(named.text)}{careful}: {who_names_it(judgement)} names it."
    return Said(text, "fill-as-printed", named=named.text, with_care=bool(careful), by=named.by)


def _as_good(judgement: Judgement) -> list[Said]:
    as_good = [judgement.lubricants[index] for index in judgement.alike[:1]]
    return [Said(f"{one.short_name} is as good.", "another-is-as-good", lubricant=one.id) for one in as_good]


def within(first: str, asides: Iterable[str], *last: str) -> str:
    """The first and the last sentence with as many between them as fit."""
    sentences = [first]
    for aside in asides:
        if len(" ".join([*sentences, aside, *last]).split()) <= MOST_WORDS:
            sentences.append(aside)
    return in_a_row([*sentences, *last])


def _at_best(begin: str, judgement: Judgement) -> Said:
    """`Then GL-4 or MTF, 75W-80 does least harm.`, or that it is what somebody names."""
    leader, safest, oils = judgement.leader or 0, judgement.safest, judgement.lubricants
    of: dict[str, Any] = {"when": WHEN[begin]}
    every = tuple(oils[index].id for index in (leader, *judgement.alike))
    if judgement.leader is not None and judgement.is_asked_for(judgement.leader):
        text, by = f"{begin} {_fill(judgement)} is what {who_names_it(judgement)} names.", judgement.named.by
        return Said(text, "best-is-what-is-named", **of, lubricants=every, by=by)
    if safest is None or safest == judgement.leader:
        return Said(f"{begin} {_fill(judgement)} does least harm.", "best-does-least-harm", **of, lubricants=every)
    least = within_a_sentence(oils[safest].short_name)
    text = f"{begin} {_leader_name(judgement)} is the most likely, and {least} does least harm."
    return Said(text, "most-likely-and-least-harm", **of, lubricant=oils[leader].id, safest=oils[safest].id)


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


def _never(judgement: Judgement) -> Said | None:
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
            found = Said(f"No {family.label}: it {reason}.", "never-this-family", (reason,), family=family.id)
        if is_plain_axle_oil and not is_sure and any(judgement.verdict(index) != "fits" for index in indices):
            return NO_AXLE_OIL_ON_A_GUESS
    return found
