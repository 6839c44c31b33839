"""What is in the way where an answer is a conflict or no class fits, and what would end it."""

from collections.abc import Callable, Mapping
from typing import Any

from knowledge.box.question import FillQuestion
from knowledge.fill.answer import Outcome
from knowledge.fluids.grades import printed
from knowledge.judging.judgement import Judgement
from knowledge.judging.window import copper_strip_line
from knowledge.text import Said, listed, plain, within_a_sentence


def way_out(outcome: Outcome, judgement: Judgement) -> tuple[str, ...] | None:
    """What would end a conflict, or help where nothing fits; None where something leads."""
    if not judgement.named.is_possible:
        may_be, who = _may_be_meant(judgement), _asked_of(judgement)
        again = Said(f"the line read again: {may_be}", "line-read-again", may_be=may_be)
        return again, Said(f"word from {who}", "word-of-who-named-it", who=who)
    if outcome == "conflict":
        has_rings = bool(judgement.question.rings)
        text = f"the maker of the box naming a fluid for {'these rings' if has_rings else 'this box'}"
        found = Said(text, "box-maker-names-a-fluid", has_rings=has_rings)
        if judgement.named.by == "service-data":
            changed = Said("word that the rings were changed", "word-of-changed-rings")
            return changed, Said("a fluid that the maker of the rings names", "ring-maker-names-a-fluid"), found
        sold = Said("word from whoever sold the rings", "word-of-who-sold-the-rings")
        return sold, Said("one fluid that all their makers name", "one-fluid-of-all-makers")
    if outcome != "none-suitable":
        return None
    book = Said("the fluid that the book of this very box names", "fluid-of-the-book")
    provable = judgement.provable()
    if not provable:
        return (book,)
    kinds = listed(dict.fromkeys(judgement.lubricants[index].family.label for index in provable), "or")
    proof = f"{kinds} with this proof, judged as the jug it is: {copper_strip_line(judgement.base)}"
    return book, Said(proof, "proven-jug", kinds=kinds)


def conflict_in_words(judgement: Judgement) -> str:
    """`the book names GL-5, and GL-5 burns paper rings`, without a grade."""
    named, who = judgement.named, who_names_it(judgement)
    if named.disagrees:
        return "the makers of the rings name fluids that differ"
    if not named.is_possible:
        return f"there is no such fluid as {who} names"
    family = named.family or next((family for family, _ in named.pairs), None)
    kind = judgement.base.families[family].label if family else "a fluid"
    names = f"{who} names {kind}" if named.family else f"what {who} names means {kind}"
    return f"{names}, and it {(family and judgement.aloud(family)) or 'does harm here'}"


def what_settles_it(judgement: Judgement) -> tuple[list[str], str]:
    """What the rings want in a conflict, and what ends it."""
    named, of_rings = judgement.named, judgement.named.by == "ring-maker"
    if not named.is_possible:
        return [f"Read the line again: is it {_may_be_meant(judgement)}?"], f"Else ask {_asked_of(judgement)}."
    wanted = _wanted(judgement.by_itself)
    if named.disagrees:
        rings = [f"All of them share one oil: by themselves these rings want {wanted}."] if wanted else []
        return rings, "Ask their makers for one fluid that they all name."
    rings = [f"By themselves these rings want {wanted}."] if wanted else []
    if of_rings:
        return rings, "Ask whoever sold the rings whether that line is for an axle."
    rings.append("Is that line for the axle?")
    return rings, "Say whether the rings were changed; if they were not, the book decides."


def _asked_of(judgement: Judgement) -> str:
    return "whoever sold the rings" if judgement.named.by == "ring-maker" else "the maker of the box"


def _may_be_meant(judgement: Judgement) -> str:
    """`ATF without that grade, or MTF or GL-4 of that grade`: what a line may say that names what cannot be."""
    named, of, families = judgement.named, judgement.by_itself, judgement.base.families
    other = printed(named.grade or "", judgement.base)
    grades = other.grades if other else ()
    others = dict.fromkeys(of.lubricants[at].family.label for at in of.order if of.lubricants[at].grade in grades)
    kind = within_a_sentence(families[named.family or ""].label)
    if other and other.family not in (None, named.family):
        return f"{kind} or {within_a_sentence(families[other.family].label)}"
    without = f"{kind} without that grade"
    return f"{without}, or {listed(list(others)[:2], 'or')} of that grade" if others else without


SHARING: Mapping[str, Callable[[FillQuestion], bool]] = {
    "the hypoid gears": lambda question: question.final_drive == "hypoid",
    "the limited-slip pack": lambda question: bool(question.limited_slip),
    "the wet clutch": lambda question: bool(question.wet_clutch),
}


def what_each_wants(judgement: Judgement) -> list[str]:
    """What the rings want and what shares their oil, where those are not the same."""
    question, base = judgement.question, judgement.base
    sharing = [words for words, is_there in SHARING.items() if is_there(question)]
    if question.coldest_start_c is not None and _wanted(Judgement.of(_asked(question, coldest_start_c=None), base)):
        return [f"No fluid that suits it flows at {spoken_c(question.coldest_start_c)}: warm the sump first."]
    if not question.rings:
        return [f"No class suits {listed(sharing, 'and')} at once."] if len(sharing) > 1 else []
    rings = _wanted(Judgement.of(_asked(question, final_drive="none", limited_slip=False, wet_clutch=False), base))
    others = _wanted(Judgement.of(_asked(question, rings=()), base))
    if not rings or not sharing or not others or rings == others:
        return []
    return [f"The rings want {rings}, and {listed(sharing, 'and')} in the same oil {others}."]


def _asked(question: FillQuestion, **instead: Any) -> FillQuestion:
    return question.model_copy(update=instead)


def _wanted(judgement: Judgement) -> str | None:
    """The family that leads for a box, without a grade; None where none does."""
    leader = judgement.leader
    return None if leader is None else within_a_sentence(judgement.lubricants[leader].family.label)


def proof_that_would_do(judgement: Judgement) -> list[str]:
    """The first class that a better copper strip would let in, with the strip."""
    proof = f"with a copper strip of {judgement.base.copper_strip_wanted} or better"
    return [f"{judgement.lubricants[index].family.label} {proof} would do." for index in judgement.provable()[:1]]


def who_names_it(judgement: Judgement) -> str:
    """The book, or the maker of the rings."""
    return "the maker of the rings" if judgement.named.by == "ring-maker" else "the book"


def spoken_c(celsius: float) -> str:
    """A temperature as it is read aloud."""
    return f"minus {plain(-celsius)}" if celsius < 0 else f"{plain(celsius)} degrees"
