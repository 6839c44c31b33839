"""How the answer stands to the manufacturer's service data."""

from collections.abc import Sequence
from itertools import chain

from knowledge.box.named import in_words
from knowledge.box.question import ServiceData
from knowledge.fill.answer import ServiceDataVerdict
from knowledge.fluids.data_sheet import Sheet
from knowledge.fluids.possible_lubricants import possible_lubricants
from knowledge.judging.judgement import Judgement
from knowledge.parts.jug import Jug, Label
from knowledge.text import listed

OPEN = "Whether anything speaks against it depends on what is not known yet."

NOT_GIVEN = ServiceDataVerdict(
    status="not-given",
    text="No service data given. The manufacturer's service data decides; look it up before you fill.",
)

NOTHING_NAMED = ServiceDataVerdict(
    status="cannot-compare",
    text="The service data was given without a family or a grade. Ask for both; the service data decides.",
)


def compare(judgement: Judgement) -> ServiceDataVerdict:
    """How the service data and the computed verdicts stand to each other; it is never overruled in silence."""
    service_data = judgement.question.service_data
    if service_data is None:
        return NOT_GIVEN
    if not (service_data.family or service_data.grade):
        return NOTHING_NAMED
    names = f"The service data names {in_words(service_data, judgement.base)}"
    if not judgement.named.is_listed:
        return _of_no_class(names, judgement)
    named = [index for index in range(len(judgement.lubricants)) if judgement.is_asked_for(index)]
    if not named:
        return _unknown(names)
    verdicts = {index: judgement.verdict(index) for index in named}
    doubts = {index: judgement.overruled(index) for index in named}
    sound = [index for index in named if verdicts[index] in ("fits", "fits-with-care") and not doubts[index]]
    if sound:
        agreement = _agreement(service_data, sound, judgement)
        return ServiceDataVerdict(status="agrees", text=f"{names}. {agreement}")
    refused = [index for index in named if verdicts[index] == "does-not-fit"]
    if any(index not in refused and all(finding.only_if for finding in doubts[index]) for index in named):
        return ServiceDataVerdict(status="cannot-compare", text=f"{names}. {OPEN} The service data decides.")
    against = [finding.text for finding in chain.from_iterable(doubts.values()) if finding.only_if is None]
    return _conflict(names, dict.fromkeys((*against, *_refusals(service_data, refused, judgement))))


def _conflict(names: str, reasons: Sequence[str] | dict[str, None]) -> ServiceDataVerdict:
    text = f"{names}, but: {' '.join(reasons)} Clear this up with the manufacturer before you fill."
    return ServiceDataVerdict(status="conflicts", text=text)


def _unknown(names: str) -> ServiceDataVerdict:
    text = f"{names}, which matches no class known here. Follow the service data."
    return ServiceDataVerdict(status="cannot-compare", text=text)


def _of_no_class(names: str, judgement: Judgement) -> ServiceDataVerdict:
    """What a rule holds against all that a grade of no class may be, it holds against what is named."""
    service_data, base = judgement.question.service_data, judgement.base
    if judgement.named.family is None or service_data is None:
        return _unknown(names)
    label = Label(family=service_data.family, grade=service_data.grade)
    possible = Judgement.of(judgement.question, base, possible_lubricants(Sheet(Jug(label=label), base)))
    indices = [index for index in range(len(possible.lubricants)) if possible.is_asked_for(index)]
    if not indices:
        return _unknown(names)
    names = f"{names}, a grade that no class here has"
    against = []
    for index in indices:
        against.append({one.rule: one for one in possible.against(index)})
    shared = [finding for rule, finding in against[0].items() if all(rule in others for others in against)]
    surely = [finding.text for finding in shared if finding.only_if is None]
    if surely:
        return _conflict(names, surely)
    doubt = OPEN if shared else "Nothing computed here speaks against it."
    return ServiceDataVerdict(status="cannot-compare", text=f"{names}. {doubt} Follow the service data.")


def _agreement(service_data: ServiceData, sound: Sequence[int], judgement: Judgement) -> str:
    needs_care = all(judgement.verdict(index) == "fits-with-care" for index in sound)
    rest = "It serves, with the care named below." if needs_care else "Nothing computed here speaks against it."
    if service_data.family and service_data.grade:
        return rest
    lubricants = [judgement.lubricants[index] for index in sound]
    if service_data.family:
        grades = listed(dict.fromkeys(one.grade for one in lubricants), "or")
        return f"{rest} It gives no grade; of this kind {grades} would serve: ask which is meant."
    kinds = listed(dict.fromkeys(one.family.label for one in lubricants), "or")
    return f"{rest} It gives no kind of fluid; of this grade {kinds} would serve: ask which is meant."


def _refusals(service_data: ServiceData, refused: Sequence[int], judgement: Judgement) -> list[str]:
    """Why each is refused; where several families share the grade, the first reason of each tells which it is of."""
    texts = [[refusal.text for refusal in judgement.refusals(index)] for index in refused]
    if service_data.family:
        return list(chain.from_iterable(texts))
    of_reason: dict[str, list[str]] = {}
    for index, reasons in zip(refused, texts, strict=True):
        of_reason.setdefault(reasons[0], []).append(judgement.lubricants[index].name)
    return [f"{listed(names, 'and')}: {reason}" for reason, names in of_reason.items()]
