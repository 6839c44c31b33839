"""The manufacturer's service data: what it names, and how the answer stands to it."""

import re
from collections.abc import Sequence
from itertools import chain
from typing import TYPE_CHECKING

from knowledge.answers import ServiceDataVerdict
from knowledge.oils import Oil
from knowledge.phrases import listed
from knowledge.questions import ServiceData

if TYPE_CHECKING:
    from knowledge.box.worlds import Worlds
    from knowledge.verdicts.judging import Judged

NOT_OF_THE_GRADE = re.compile(r"\b(SAE|API|EP|GL[- ]?\d|MT[- ]?1|MTF|ATF)\b")


def plain_grade(grade: str) -> str:
    """A grade without the ways of writing it: `API GL-4 SAE 75w 90` and `75W-90` are one."""
    return re.sub(r"[^0-9A-Z]", "", NOT_OF_THE_GRADE.sub("", grade.upper()))


def is_of_grade(grade: str, oil: Oil) -> bool:
    """Whether an oil has this grade; a single grade, as older books print it, is also one part of a multigrade."""
    return plain_grade(grade) in (plain_grade(part) for part in (oil.grade, *oil.grade.split("-")))


def matches(service_data: ServiceData | None, oil: Oil) -> bool:
    """Whether an oil is of the family and of the grade that the service data gives, as far as it gives them."""
    if service_data is None or not (service_data.family or service_data.grade):
        return False
    if service_data.family and service_data.family != oil.family.id:
        return False
    return service_data.grade is None or is_of_grade(service_data.grade, oil)


def names(service_data: ServiceData | None, oil: Oil) -> bool:
    """Whether the service data names this very class; without a grade it names the whole family.

    A grade alone names no class: it says nothing of the additives, so it excuses none.
    """
    return service_data is not None and service_data.family is not None and matches(service_data, oil)


def compare(service_data: ServiceData | None, judged: "Sequence[Judged]", worlds: "Worlds") -> ServiceDataVerdict:
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
    named = [item for item in judged if matches(service_data, item.oil)]
    said = _said(service_data, worlds)
    if not named:
        return ServiceDataVerdict(
            status="cannot-compare", text=f"{said}, which matches no class known here. Follow the service data."
        )
    doubts = [finding.text for item in named for finding in item.overruled if finding.only_if is None]
    serving = [item for item in named if item.serves & worlds.every == worlds.every]
    if serving and not doubts:
        return ServiceDataVerdict(status="agrees", text=f"{said}. {_agreement(service_data, serving, worlds)}")
    if not doubts and any(item.serves for item in named):
        return ServiceDataVerdict(
            status="cannot-compare",
            text=f"{said}. Whether anything speaks against it depends on what is not known yet. The service data decides.",
        )
    refused = [item for item in named if not item.serves]
    reasons = " ".join(dict.fromkeys((*doubts, *_refusals(service_data, refused))))
    return ServiceDataVerdict(
        status="conflicts", text=f"{said}, but: {reasons} Clear this up with the manufacturer before you fill."
    )


def _said(service_data: ServiceData, worlds: "Worlds") -> str:
    label = service_data.family and worlds.base.families[service_data.family].label
    return f"The service data names {' '.join(part for part in (label, service_data.grade) if part)}"


def _agreement(service_data: ServiceData, serving: "Sequence[Judged]", worlds: "Worlds") -> str:
    cares = any(item.verdict(worlds.every) == "fits-with-care" for item in serving)
    rest = "It serves, with the care named below." if cares else "Nothing computed here speaks against it."
    if service_data.family:
        return rest
    kinds = dict.fromkeys(item.oil.family.label for item in serving)
    return f"{rest} It gives no kind of fluid; of this grade {' or '.join(kinds)} would serve: ask which is meant."


def _refusals(service_data: ServiceData, refused: "Sequence[Judged]") -> list[str]:
    """Why each is refused; where several families share the grade, the first reason of each says of which it speaks."""
    texts = [[finding.text for finding in item.findings if finding.effect == "excludes"] for item in refused]
    if service_data.family:
        return list(chain.from_iterable(texts))
    of_reason: dict[str, list[str]] = {}
    for item, reasons in zip(refused, texts):
        of_reason.setdefault(reasons[0], []).append(item.oil.name)
    return [f"{listed(names, 'and')}: {reason}" for reason, names in of_reason.items()]
