"""What is in the way where an answer is a conflict or no class fits, and what would end it."""

from collections.abc import Callable, Mapping
from typing import Any

from knowledge.box.question import FillQuestion
from knowledge.fill.answer import Outcome
from knowledge.fluids.grades import printed
from knowledge.judging.judgement import Judgement
from knowledge.judging.window import copper_strip_line
from knowledge.loading.fluid_rows import FamilyRow
from knowledge.text import Said, listed, plain, within_a_sentence

DOES_HARM = Said("does harm here", "does-harm-here")
FOR_AN_AXLE = Said("Is that line for the axle?", "is-that-line-for-the-axle")
WERE_THEY_CHANGED = Said(
    "Say whether the rings were changed; if they were not, the book decides.", "say-whether-rings-were-changed"
)
ASK_THEIR_MAKERS = Said("Ask their makers for one fluid that they all name.", "ask-their-makers-for-one-fluid")
ASK_THE_SELLER = Said(
    "Ask whoever sold the rings whether that line is for an axle.", "ask-who-sold-the-rings-whether-for-an-axle"
)


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


def conflict_in_words(judgement: Judgement) -> Said:
    """`the book names GL-5, and GL-5 burns paper rings`, without a grade."""
    named, who = judgement.named, who_names_it(judgement)
    if named.disagrees:
        return Said("the makers of the rings name fluids that differ", "ring-makers-differ")
    if not named.is_possible:
        return Said(f"there is no such fluid as {who} names", "no-such-fluid-as-named", by=named.by)
    family = named.family or next((family for family, _ in named.pairs), None)
    kind = judgement.base.families[family].label if family else "a fluid"
    names = f"{who} names {kind}" if named.family else f"what {who} names means {kind}"
    reason = (family and judgement.aloud(family)) or DOES_HARM
    of = {"by": named.by, "family": family, "is_family_named": bool(named.family)}
    return Said(f"{names}, and it {reason}", "named-does-harm", (reason,), **of)


def what_settles_it(judgement: Judgement) -> tuple[list[Said], Said]:
    """What the rings want in a conflict, and what ends it."""
    named, of_rings = judgement.named, judgement.named.by == "ring-maker"
    if not named.is_possible:
        may_be, who = _may_be_meant(judgement), _asked_of(judgement)
        again = Said(f"Read the line again: is it {may_be}?", "read-the-line-again", may_be=may_be)
        return [again], Said(f"Else ask {who}.", "else-ask", who=who)
    wanted = _wanted(judgement.by_itself)
    rings = []
    if wanted and named.disagrees:
        text = f"All of them share one oil: by themselves these rings want {_kind(wanted)}."
        rings = [Said(text, "these-rings-share-one-oil", family=wanted.id)]
    elif wanted:
        text = f"By themselves these rings want {_kind(wanted)}."
        rings = [Said(text, "by-themselves-these-rings-want", family=wanted.id)]
    if named.disagrees:
        return rings, ASK_THEIR_MAKERS
    if of_rings:
        return rings, ASK_THE_SELLER
    return [*rings, FOR_AN_AXLE], WERE_THEY_CHANGED


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


SHARING: Mapping[Said, Callable[[FillQuestion], bool]] = {
    Said("the hypoid gears", "the-hypoid-gears"): lambda question: question.final_drive == "hypoid",
    Said("the limited-slip pack", "the-limited-slip-pack"): lambda question: bool(question.limited_slip),
    Said("the wet clutch", "the-wet-clutch"): lambda question: bool(question.wet_clutch),
}


def what_each_wants(judgement: Judgement) -> list[Said]:
    """What the rings want and what shares their oil, where those are not the same."""
    question, base = judgement.question, judgement.base
    sharing = tuple(words for words, is_there in SHARING.items() if is_there(question))
    if question.coldest_start_c is not None and _wanted(Judgement.of(_asked(question, coldest_start_c=None), base)):
        text = f"No fluid that suits it flows at {spoken_c(question.coldest_start_c)}: warm the sump first."
        return [Said(text, "nothing-flows-so-cold", coldest_start_c=question.coldest_start_c)]
    if not question.rings:
        text = f"No class suits {listed(sharing, 'and')} at once." if len(sharing) > 1 else ""
        return [Said(text, "no-class-suits-all", sharing)] if text else []
    rings = _wanted(Judgement.of(_asked(question, final_drive="none", limited_slip=False, wet_clutch=False), base))
    others = _wanted(Judgement.of(_asked(question, rings=()), base))
    if not rings or not sharing or not others or rings == others:
        return []
    text = f"The rings want {_kind(rings)}, and {listed(sharing, 'and')} in the same oil {_kind(others)}."
    return [Said(text, "rings-want-another-oil", sharing, rings=rings.id, others=others.id)]


def _asked(question: FillQuestion, **instead: Any) -> FillQuestion:
    return question.model_copy(update=instead)


def _wanted(judgement: Judgement) -> FamilyRow | None:
    """The family that leads for a box, without a grade; None where none does."""
    leader = judgement.leader
    return None if leader is None else judgement.lubricants[leader].family


def _kind(family: FamilyRow) -> str:
    return within_a_sentence(family.label)


def proof_that_would_do(judgement: Judgement) -> list[Said]:
    """The first class that a better copper strip would let in, with the strip."""
    wanted, families = (
        judgement.base.copper_strip_wanted,
        [judgement.lubricants[at].family for at in judgement.provable()],
    )
    return [
        Said(
            f"{one.label} with a copper strip of {wanted} or better would do.",
            "proof-would-do",
            family=one.id,
            strip=wanted,
        )
        for one in families[:1]
    ]


def who_names_it(judgement: Judgement) -> str:
    """The book, or the maker of the rings."""
    return "the maker of the rings" if judgement.named.by == "ring-maker" else "the book"


def spoken_c(celsius: float) -> str:
    """A temperature as it is read aloud."""
    return f"minus {plain(-celsius)}" if celsius < 0 else f"{plain(celsius)} degrees"
