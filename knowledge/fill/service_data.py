"""How the answer stands to the manufacturer's service data, and to what the maker of the rings names."""

from knowledge.box.named import in_words
from knowledge.box.question import FillQuestion, ServiceData
from knowledge.fill.answer import ServiceDataVerdict, ServiceStatus
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.grades import grade_name
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.judging.judgement import Judgement
from knowledge.parts.jug import Jug, Label
from knowledge.text import Said, code_of, listed, plain, reworded, said_of, within_a_sentence

NOT_GIVEN = Said("The book has not been looked up. What it names for this box goes first.", "book-not-looked-up")

NOTHING_NAMED = Said(
    "The book was looked up, but no kind of fluid and no grade were given: ask for both.", "book-names-nothing"
)

NO_SUCH_FLUID = "There is no such fluid: read the line again."
ASK_THE_MAKER = "Ask the maker of the box before anything goes in."


def compare(judgement: Judgement) -> ServiceDataVerdict:
    """How the service data and the computed verdicts stand to each other; it is never overruled in silence."""
    question, base, named = judgement.question, judgement.base, judgement.named
    book = question.service_data
    if book is None:
        return _verdict("not-given", NOT_GIVEN)
    text = in_words(book.family, book.grade, base)
    if not text:
        return _verdict("cannot-compare", NOTHING_NAMED)
    names, of = f"The book names {text}", {"named": text}
    if named.by == "ring-maker":
        if text == named.text and (grave := grave_reason(judgement)):
            told = f"{names}, and so does the maker of the rings. {grave} Ask both before anything goes in."
            return _verdict("conflicts", Said(told, "both-do-harm", said_of(grave), **of, reason=code_of(grave)))
        if judgement.leader is not None and text == named.text:
            return _verdict("agrees", Said(f"{names}, and so does the maker of the rings.", "ring-maker-agrees", **of))
        told = f"{names}; the maker of the rings names {named.text}, and that goes first."
        return _verdict("conflicts", Said(told, "ring-maker-goes-first", **of, by_ring_maker=named.text))
    if named.by is None:
        told = f"{names}, but for the rings it was built with. These were changed, so they decide."
        return _verdict("conflicts", Said(told, "rings-were-changed", **of))
    if not named.is_possible:
        return _verdict("cannot-compare", Said(f"{names}. {NO_SUCH_FLUID}", "no-such-fluid", **of))
    if grave := grave_reason(judgement):
        told = f"{names}. {grave} {ASK_THE_MAKER}"
        return _verdict("conflicts", Said(told, "book-does-harm", said_of(grave), **of, reason=code_of(grave)))
    if not named.is_listed:
        careful = ", with the care named here" if care_of_no_class(judgement) else ""
        told = f"{names}, a grade that no class here has. Follow the book{careful}."
        return _verdict("cannot-compare", Said(told, "book-names-no-class", **of, with_care=bool(careful)))
    leader = judgement.leader
    is_open = leader is not None and judgement.lead.outcome == "depends" and judgement.verdict(leader) != "fits"
    if is_open or leader is None or not judgement.is_asked_for(leader):
        told = f"{names}. Whether it does harm hangs on what is not known yet."
        return _verdict("cannot-compare", Said(told, "harm-is-open", **of))
    what = _what_to_ask(judgement)
    return _verdict("agrees", reworded(what, f"{names}{what}", **of))


def _verdict(status: ServiceStatus, text: str) -> ServiceDataVerdict:
    return ServiceDataVerdict.model_construct(status=status, text=text)


def _what_to_ask(judgement: Judgement) -> str:
    """What a book leaves open that gives the kind without the grade, or the grade without the kind."""
    leader, book = judgement.leader, judgement.question.service_data
    if leader is None or book is None:
        return ""
    first = judgement.lubricants[leader]
    hot_c = judgement.question.sump_hot_c
    if hot_c is not None and first.long_sump_c < hot_c:
        bears = f"good to about {plain(first.long_sump_c)} °C for long"
        text = f", {bears}; here it reaches {plain(hot_c)} °C: change it early."
        return Said(text, "book-is-not-for-such-heat", long_sump_c=first.long_sump_c, sump_hot_c=hot_c)
    if judgement.verdict(leader) == "fits-with-care":
        return Said(", and that goes in, with the care named here.", "book-with-care")
    if judgement.outcome("lined-rings-burn-under-thick-gear-oil", leader) == "thick-but-named":
        return Said(", thicker than is usual for a lining; the book decides.", "book-is-thicker-than-usual")
    if judgement.named.means and book.family and first.family.id != book.family:
        text = f"{'' if book.grade else ' without a grade'}. {judgement.named.means}"
        return Said(text, "book-means", words=judgement.named.means)
    if book.grade is None:
        text = f" without a grade; {first.grade} is the usual one."
        return Said(text, "book-names-no-grade", usual=first.grade)
    if book.family is None:
        kinds = listed(dict.fromkeys(judgement.lubricants[at].family.label for at in (leader, *judgement.alike)), "or")
        here = "these rings" if judgement.question.rings else "this box"
        text = f" without a kind of fluid; for {here} that means {within_a_sentence(kinds)}."
        return Said(text, "book-names-no-kind", kinds=kinds, has_rings=bool(judgement.question.rings))
    return Said(", and nothing here is against it.", "nothing-against-the-book")


def grave_reason(judgement: Judgement) -> str | None:
    """Why what is named would do lasting harm, surely; None where it would not, or not surely."""
    named = judgement.named
    if not named.text or (named.is_vouched_for and named.by == "service-data"):
        return None
    of = judgement if named.is_listed else _of_no_class(judgement)
    if of is None:
        return None
    indices = [index for index in range(len(of.lubricants)) if of.is_asked_for(index) or not named.is_listed]
    if not indices or any(of.verdict(index) != "does-not-fit" for index in indices):
        return None
    graves = (refusal for index in indices for refusal in of.grave_refusals(index))
    return next((refusal.text for refusal in graves if refusal.only_if is None), None)


def care_of_no_class(judgement: Judgement) -> tuple[str, ...]:
    """What the caller must do or watch with a grade of no class: its own cold limit, and what is told of its family."""
    cold = _too_cold(judgement)
    if judgement.named.family is None:
        return cold
    of = Judgement.of(_with(ServiceData(family=judgement.named.family), judgement), judgement.base)
    named = next((index for index in of.order if of.is_asked_for(index)), None)
    notes = () if named is None else of.care(named)
    of_family = (note.text for note in notes if note.only_if is None and note.rule != "cold-start-needs-oil-that-flows")
    return *cold, *of_family


def _too_cold(judgement: Judgement) -> tuple[str, ...]:
    """What a grade of no class guarantees in the cold, where a colder start was stated."""
    grade, coldest_c = grade_name(judgement.named.grade, judgement.base), judgement.question.coldest_start_c
    limit_c = grade.winter.cold_limit_c if grade and grade.winter else None
    if limit_c is None or coldest_c is None or coldest_c >= limit_c:
        return ()
    flows = f"{judgement.named.grade} is made to flow down to {plain(limit_c)} °C only"
    text = f"{flows}; the coldest start is {plain(coldest_c)} °C: warm it first, or ask for the grade of that cold."
    of = {"grade": judgement.named.grade, "flows_to_c": limit_c, "coldest_start_c": coldest_c}
    return (Said(text, "named-grade-is-stiff", **of),)


def _of_no_class(judgement: Judgement) -> Judgement | None:
    """What a grade of no class may be, judged for the box."""
    named, base = judgement.named, judgement.base
    if named.family is None:
        return None
    label = Label(family=named.family, grade=named.grade)
    return Judgement.of(_with(None, judgement), base, possible_lubricants(Sheet(Jug(label=label), base)))


def _with(named: ServiceData | None, judgement: Judgement) -> FillQuestion:
    """The question as if that were named for the box, and nothing by the maker of its rings."""
    question = judgement.question
    rings = question.rings and tuple(ring.model_copy(update={"fluid_named": None}) for ring in question.rings)
    return question.model_copy(update={"service_data": named, "rings": rings})
