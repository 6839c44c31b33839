"""The shape of a row in the tables of mixtures, change intervals and running-in."""

from collections.abc import Iterable
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from knowledge.loading.facing_rows import FacingKind
from knowledge.loading.schema import CitedRow, Id, Key, Kv100, Positive, compared
from knowledge.parts.references import Refers

Share = Annotated[float, Field(ge=0, le=1)]

Families = Annotated[tuple[Id, ...], BeforeValidator(lambda cell: cell.split()), Refers("families")]

FacingKinds = Annotated[tuple[FacingKind, ...], BeforeValidator(lambda cell: cell.split())]
Facings = Annotated[tuple[Id, ...], BeforeValidator(lambda cell: cell.split()), Refers("facings")]


class MixingRow(CitedRow):
    """How much of one fluid may be in another, as a top-up or as what a change leaves; the first that fits counts."""

    id: Id
    added: Families = Field((), description="What is poured in, or left behind by a change; none listed: any.")
    in_it: Families = Field((), description="What the box is filled with; none listed: any.")
    same_kind: bool = False
    grades: Literal["same", "near"] | None = Field(None, description="How the grades must stand to each other.")
    added_kv100_from_mm2_s: Kv100 | None = None
    box: Literal["rings", "lined", "not-lined", "clutch"] | None = None
    harmless_share: Share = Field(description="How much of the sump does no harm when it is added, 0 to 1.")
    harmless_share_hot: Annotated[Share | None, compared("below", "harmless_share")] = None
    harmless_only: str | None = Field(None, description="For what such a share does no harm, where not for good.")
    may_stay_share: Share = Field(description="How much of an old fluid may be left by a change, 0 to 1.")
    km_min: Positive | None = Field(None, description="Driven warm between two drains [km]; null: no bound.")
    km_max: Annotated[Positive | None, compared("above", "km_min")] = None
    job_card: str | None = Field(None, description="What is written down of a harmless share; null where nothing is.")
    too_much: str | None = Field(None, description="What is written down of more.")
    after_drain: str | None = None


class IntervalRow(CitedRow):
    """How long a kind of fluid stays in a box, by the way of driving; a row without one holds for the others."""

    keys = (Key(("kind", "duty")),)

    kind: Id
    duty: Annotated[Id | None, Refers("duties")] = None
    km_min: Positive | None = None
    km_max: Annotated[Positive | None, compared("not below", "km_min")] = None
    years_min: Positive | None = None
    years_max: Annotated[Positive | None, compared("not below", "years_min")] = None
    words: str | None = Field(None, description="What to say where no distance tells it, or beside one.")


class RunningInRow(CitedRow):
    """How rings are run in after a rebuild; the first that names a facing of the box or its kind counts."""

    id: Id
    facings: Facings = Field((), description="Ids of /v1/facings; none listed, nor kinds of them: any.")
    kinds: FacingKinds = Field((), description="Kinds of facing; none listed, nor facings: any.")
    words: str

    def is_of(self, facings: Iterable[str], kinds: Iterable[str]) -> bool:
        """Whether it holds for a box with these facings, of these kinds."""
        is_named = not set(self.facings).isdisjoint(facings) or not set(self.kinds).isdisjoint(kinds)
        return is_named or not (self.facings or self.kinds)
