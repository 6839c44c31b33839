"""The answer in one line and in a few words to read aloud, and why the leader leads."""

from collections.abc import Iterable, Iterator, Sequence

from knowledge.base import KnowledgeBase
from knowledge.box.named import in_words
from knowledge.fill.answer import FirstShifts, LeadsBy, Outcome
from knowledge.judging.judgement import Judgement
from knowledge.judging.questions import OpenQuestion
from knowledge.judging.window import Window, copper_strip_line
from knowledge.judging.wording import within_a_sentence
from knowledge.lubricant import Lubricant
from knowledge.text import listed, plain

MOST_WORDS = 40

MOST_KINDS = 3

MOST_NEVER = 2

CHECK_THE_BOOK = "Check the book first."

AS_THE_BOOK_SAYS = "That is what the book names."

NO_FLUID = "The exact fluid that the manufacturer's service data names; no generic class fits."

COLD_RULES = frozenset({"cold-start-needs-oil-that-flows", "cold-first-shifts-need-the-film-wiped"})

HOT_RULES = frozenset({"bearings-need-viscosity-when-hot", "gear-film-sets-the-protection-needed"})


def summary(
    outcome: Outcome, judgement: Judgement, alike: Sequence[int], asked: OpenQuestion | None, status: str
) -> str:
    """One plain sentence or two, of at most 140 characters."""
    if not judgement.order:
        if judgement.provable():
            return (
                "No generic class fits this box as such: the service data or the copper strip of a jug must settle it."
            )
        return "No generic class fits this box: only the manufacturer's service data can settle it."
    if not judgement.named.is_listed:
        then = "clear it up with the manufacturer" if status == "conflicts" else "follow it"
        return f"The service data names {_named(judgement)}, a grade that no class here has: {then}."
    if status == "conflicts":
        return "Something speaks against what the service data names: clear it up with the manufacturer first."
    first = judgement.order[0]
    verdict = judgement.verdict(first)
    if outcome == "depends" and asked:
        lead = "It depends" if verdict == "depends" else f"{judgement.lubricants[first].name} leads so far"
        return f"{lead}; ask next {judgement.base.unknowns[asked.name].short}."
    care = ", with care" if verdict == "fits-with-care" else ""
    return f"Fill {_fill(judgement, alike)}{care}. {AS_THE_BOOK_SAYS if status == 'agrees' else CHECK_THE_BOOK}"


def say(
    outcome: Outcome,
    judgement: Judgement,
    alike: Sequence[int],
    asked: OpenQuestion | None,
    status: str,
    window: Window | None,
    shifts: FirstShifts | None,
    safest: Lubricant | None,
) -> str:
    """What to read aloud, in at most 40 words: what to fill, what never to pour, and that the book decides."""
    if not judgement.order:
        proof = "or the copper strip of a jug can settle it" if judgement.provable() else "can settle it"
        return f"No generic fluid fits this box. Only the manufacturer's service data {proof}. Pour nothing on a guess."
    if status == "conflicts":
        return _within(
            "Do not fill yet.",
            [f"The book names {_named(judgement)}, and something speaks against it."],
            "Clear it up with the manufacturer of the box first.",
        )
    if not judgement.named.is_listed:
        return _within(f"Fill {_named(judgement)}, as the book says.", [], "No class here has that grade.")
    if outcome == "depends" and asked:
        least_harm = [f"If nobody can tell, {safest.name} does least harm."] if safest else []
        ask = f"It depends. Ask {judgement.base.unknowns[asked.name].short}."
        return _within(ask, [*least_harm, "Never pour axle oil on a guess."], "The book decides.")
    care = ", with care" if judgement.verdict(judgement.order[0]) == "fits-with-care" else ""
    return _within(
        f"Fill {_fill(judgement, alike)}{care}.",
        _asides(window, shifts),
        AS_THE_BOOK_SAYS if status == "agrees" else CHECK_THE_BOOK,
    )


def _asides(window: Window | None, shifts: FirstShifts | None) -> Iterator[str]:
    if window and window.never_on_the_label:
        full_ep_first = sorted(window.never_on_the_label, key=lambda label: "GL-5" not in label)
        yield f"Never pour {listed(full_ep_first[:MOST_NEVER], 'or')}."
    if shifts and shifts.step == "hard":
        be = "are" if shifts.sure else "may be"
        yield f"First shifts {be} hard at {_spoken(shifts.at_c)}."


def _within(first: str, asides: Iterable[str], last: str) -> str:
    """The first and the last sentence with as many between them as fit."""
    sentences = [first]
    for aside in asides:
        if len(" ".join([*sentences, aside, last]).split()) <= MOST_WORDS:
            sentences.append(aside)
    return " ".join([*sentences, last])


def _spoken(celsius: float) -> str:
    return f"minus {plain(-celsius)} degrees" if celsius < 0 else f"{plain(celsius)} degrees"


def _named(judgement: Judgement) -> str:
    """The fluid that the service data names."""
    service_data = judgement.question.service_data
    return in_words(service_data, judgement.base) if service_data else ""


def _fill(judgement: Judgement, alike: Sequence[int]) -> str:
    """`GL-4 or MTF, 75W-90`."""
    leader, *others = (judgement.lubricants[index] for index in (judgement.order[0], *alike))
    kinds = list(dict.fromkeys(within_a_sentence(one.family.label) for one in (leader, *others)))
    return f"{listed(kinds[:MOST_KINDS], 'or')}, {leader.grade}"


def leads_by(judgement: Judgement) -> tuple[LeadsBy, str]:
    """What put the leader first, and that in one sentence."""
    first = judgement.order[0]
    leader, base = judgement.lubricants[first], judgement.base
    if judgement.is_asked_for(first):
        return "service-data", "The service data names it."
    facings = dict.fromkeys(ring.facing for ring in judgement.question.rings or () if ring.facing)
    words = listed([base.facings[facing].words for facing in facings], "and") if facings else ""
    usual = list(dict.fromkeys(base.usual_lubricants[facing].id for facing in facings))
    if leader.id in usual:
        return "custom", f"The usual fill for {words} rings."
    if judgement.verdict(first) == "depends":
        return "custom", "Of what is still open it serves best so far; no class serves in every case."
    for index, one in enumerate(judgement.lubricants):
        if one.id in usual and (found := _why_behind(judgement, index)):
            return found, _overtook(found, one, judgement)
    if not usual:
        return "custom", "Of the classes that serve this box it is the most usual."
    return "custom", f"It serves {words} rings as well as their usual fill, and nothing speaks against it."


def _why_behind(judgement: Judgement, usual: int) -> LeadsBy | None:
    """Whether cold or heat keeps the usual class from leading."""
    is_refused = judgement.verdict(usual) == "does-not-fit"
    against = (judgement.main_refusal(usual),) if is_refused else judgement.care(usual)
    for finding in against:
        if finding.rule in COLD_RULES:
            return "cold"
        if finding.rule in HOT_RULES:
            return "heat"
    return None


def _overtook(why: LeadsBy, usual: Lubricant, judgement: Judgement) -> str:
    worst = judgement.worst_case
    if why == "cold":
        return f"The usual {usual.name} is stiffer at {plain(worst.coldest_start_c)} °C."
    return f"The usual {usual.name} is thinner in oil of {plain(worst.sump_hot_c)} °C."


def way_out(judgement: Judgement, base: KnowledgeBase) -> tuple[str, ...] | None:
    """What would help where nothing fits; None where something does."""
    if judgement.order:
        return None
    provable = judgement.provable()
    if not provable:
        return (NO_FLUID,)
    kinds = listed(dict.fromkeys(judgement.lubricants[index].family.label for index in provable), "or")
    return NO_FLUID, f"Or {kinds} with this proof, judged as the jug it is: {copper_strip_line(base)}"
