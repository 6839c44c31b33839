"""The manufacturer's service data: what it names, and how the answer stands to it."""

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from knowledge.answers import ServiceDataVerdict
from knowledge.oils import Oil
from knowledge.questions import ServiceData

if TYPE_CHECKING:
    from knowledge.verdicts.judging import Judged


def plain_grade(grade: str) -> str:
    """A grade without the ways of writing it: `SAE 75w 90` and `75W-90` are one."""
    return re.sub(r"[^0-9A-Z]", "", grade.upper().replace("SAE", ""))


def names(service_data: ServiceData | None, oil: Oil) -> bool:
    """Whether the service data names this very class; without a grade it names the whole family."""
    if service_data is None or service_data.family != oil.family.id:
        return False
    return service_data.grade is None or plain_grade(service_data.grade) == plain_grade(oil.grade)


def compare(service_data: ServiceData | None, judged: "Sequence[Judged]", every: int) -> ServiceDataVerdict:
    """How the service data and the computed verdicts stand to each other; it is never overruled in silence."""
    if service_data is None:
        return ServiceDataVerdict(
            status="not-given",
            text="No service data given. The manufacturer's service data decides; look it up before you fill.",
        )
    named = [item for item in judged if _matches(service_data, item.oil)]
    if not (service_data.family or service_data.grade):
        return ServiceDataVerdict(
            status="cannot-compare",
            text="The service data was given without a family or a grade. Ask for both; the service data decides.",
        )
    label = named[0].oil.family.label if named and service_data.family else service_data.family
    said = f"The service data names {' '.join(part for part in (label, service_data.grade) if part)}"
    if not named:
        return ServiceDataVerdict(
            status="cannot-compare", text=f"{said}, which matches no class known here. Follow the service data."
        )
    doubts = [finding for item in named for finding in item.overruled if finding.only_if is None]
    serving = [item for item in named if item.serves & every == every]
    if serving and not doubts:
        cares = any(item.verdict(every) == "fits-with-care" for item in serving)
        rest = "It serves, with the care named below" if cares else "Nothing computed here speaks against it"
        return ServiceDataVerdict(status="agrees", text=f"{said}. {rest}.")
    if not doubts and any(item.serves for item in named):
        return ServiceDataVerdict(
            status="cannot-compare",
            text=f"{said}. Whether anything speaks against it depends on what is not known yet. The service data decides.",
        )
    doubts = doubts or [finding for item in named for finding in item.findings if finding.effect == "excludes"]
    reasons = " ".join(dict.fromkeys(finding.text for finding in doubts))
    return ServiceDataVerdict(
        status="conflicts", text=f"{said}, but: {reasons} Clear this up with the manufacturer before you fill."
    )


def _matches(service_data: ServiceData, oil: Oil) -> bool:
    if service_data.family is not None:
        return names(service_data, oil)
    return service_data.grade is not None and plain_grade(service_data.grade) == plain_grade(oil.grade)
