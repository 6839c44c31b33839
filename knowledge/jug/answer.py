"""What may be asked about one jug, and what is answered."""

from pydantic import Field

from knowledge.jug.judged_jug import WouldDecide
from knowledge.jug.question import JugQuestion
from knowledge.parts.lubricant_name import LubricantName, Verdict
from knowledge.parts.provenance import Assumption, Caution, Finding, KnowledgeStamp, ResponseModel, Source


class UnderstoodJug(JugQuestion):
    """The jug as it was understood, with what was assumed."""

    assumed: tuple[Assumption, ...] = ()


class CurvePoint(ResponseModel):
    """Viscosity at one temperature; null where it cannot be computed."""

    temperature_c: float
    kv_mm2_s: float | None
    viscosity_mpa_s: float | None
    screening: bool = Field(description="Extrapolated below 0 °C: an indication, not a data-sheet value.")


class ColdLimit(ResponseModel):
    """Down to which temperature a cold figure shows that it flows."""

    temperature_c: float | None
    basis: str


class NearestClass(ResponseModel):
    """A class whose band lies near the figures of the jug."""

    lubricant: LubricantName
    inside: bool = Field(description="Every figure given lies within the band of the class.")
    off: tuple[str, ...] = Field(description="Which figures lie outside, and by how much.")


class JugAnswer(ResponseModel):
    """What the label and the data sheet of a jug come to, and whether it suits the box."""

    knowledge: KnowledgeStamp
    answer_id: str
    question: UnderstoodJug
    summary: str = Field(max_length=140)
    j306: dict[str, str | None] = Field(description="SAE J306 grade in each edition; null where it has none.")
    j300: tuple[str, ...] = Field(description="Every SAE J300 hot grade that KV100 allows.")
    iso_vg: str | None
    viscosity_index: int | None
    viscosity_index_reason: str | None = Field(None, description="Why there is no viscosity index.")
    cold_limit: ColdLimit
    density15_kg_m3: float | None
    curve: tuple[CurvePoint, ...]
    label_findings: tuple[Finding, ...]
    nearest_classes: tuple[NearestClass, ...]
    may_be: tuple[LubricantName, ...] = Field(description="What label and data sheet leave open.")
    verdict: Verdict | None = Field(description="For the box in question; null without one.")
    findings: tuple[Finding, ...]
    would_decide: tuple[WouldDecide, ...]
    cautions: tuple[Caution, ...]
    sources: tuple[Source, ...]
