"""How the answer stands to the manufacturer's service data."""

from collections.abc import Sequence
from itertools import chain

from knowledge.box.named import in_words
from knowledge.box.question import ServiceData
from knowledge.box.worlds import Worlds
from knowledge.fill.answer import ServiceDataVerdict
from knowledge.judging.judged import Judged
from knowledge.text import listed

# What is put behind a refusal that only warns, since the service data names the class.
ALL_THE_SAME = (
    " The service data names this class all the same, so this warns and does not refuse: ask the manufacturer."
)

OPEN = "Whether anything speaks against it depends on what is not known yet."


def compare(service_data: ServiceData | None, judged: Sequence[Judged], worlds: Worlds) -> ServiceDataVerdict:
    """How the service data and the computed verdicts stand to each other; it is never overruled in silence."""
    if service_data is None:
        return ServiceDataVerdict(
            status="not-given",
            text="No service data given. The manufacturer's service data decides; look it up before you fill.",
        )
    if not (service_data.family or service_data.grade):
        return ServiceDataVerdict(
            status="cannot-compare",
            text="The service data was given without a family or a grade. Ask for both; the service data decides.",
        )
    named = [item for item in judged if item.is_asked_for]
    said = f"The service data names {in_words(service_data, worlds.base)}"
    if not named:
        return ServiceDataVerdict(
            status="cannot-compare", text=f"{said}, which matches no class known here. Follow the service data."
        )
    if not worlds.named.is_listed:
        return _of_no_class(f"{said}, a grade that no class here has", named)
    sound = [item for item in named if item.serves == worlds.every and not item.overruled]
    if sound:
        return ServiceDataVerdict(status="agrees", text=f"{said}. {_agreement(service_data, sound, worlds)}")
    doubts = [finding for item in named for finding in item.overruled]
    if any(item.serves and all(finding.only_if for finding in item.overruled) for item in named):
        return ServiceDataVerdict(
            status="cannot-compare",
            text=f"{said}. {OPEN} The service data decides.",
        )
    refused = [item for item in named if not item.serves]
    against = [finding.text.removesuffix(ALL_THE_SAME) for finding in doubts if finding.only_if is None]
    return _conflict(said, " ".join(dict.fromkeys((*against, *_refusals(service_data, refused)))))


def _conflict(said: str, reasons: str) -> ServiceDataVerdict:
    text = f"{said}, but: {reasons} Clear this up with the manufacturer before you fill."
    return ServiceDataVerdict(status="conflicts", text=text)


def _of_no_class(said: str, possible: Sequence[Judged]) -> ServiceDataVerdict:
    """What a rule says against all that a grade of no class may be, it says against what is named."""
    against = [
        {one.rule: one for one in item.findings if one.effect == "excludes" or one in item.overruled}
        for item in possible
    ]
    shared = [finding for rule, finding in against[0].items() if all(rule in others for others in against)]
    surely = [finding.text.removesuffix(ALL_THE_SAME) for finding in shared if finding.only_if is None]
    if surely:
        return _conflict(said, " ".join(surely))
    doubt = OPEN if shared else "Nothing computed here speaks against it."
    return ServiceDataVerdict(status="cannot-compare", text=f"{said}. {doubt} Follow the service data.")


def _agreement(service_data: ServiceData, sound: Sequence[Judged], worlds: Worlds) -> str:
    cares = all(item.verdict(worlds.every) == "fits-with-care" for item in sound)
    rest = "It serves, with the care named below." if cares else "Nothing computed here speaks against it."
    if service_data.family and service_data.grade:
        return rest
    if service_data.family:
        grades = listed(dict.fromkeys(item.oil.grade for item in sound), "or")
        return f"{rest} It gives no grade; of this kind {grades} would serve: ask which is meant."
    kinds = listed(dict.fromkeys(item.oil.family.label for item in sound), "or")
    return f"{rest} It gives no kind of fluid; of this grade {kinds} would serve: ask which is meant."


def _refusals(service_data: ServiceData, refused: Sequence[Judged]) -> list[str]:
    """Why each is refused; where several families share the grade, the first reason of each says of which it speaks."""
    texts = [[finding.text for finding in item.findings if finding.effect == "excludes"] for item in refused]
    if service_data.family:
        return list(chain.from_iterable(texts))
    of_reason: dict[str, list[str]] = {}
    for item, reasons in zip(refused, texts):
        of_reason.setdefault(reasons[0], []).append(item.oil.name)
    return [f"{listed(names, 'and')}: {reason}" for reason, names in of_reason.items()]
