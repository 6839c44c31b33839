"""What nobody stated and the answer takes as given."""

from collections.abc import Iterator

from knowledge.judging.judgement import Judgement
from knowledge.parts.provenance import Assumption
from knowledge.text import Said, plain

USUAL_SIZE = Said("Not given; a usual size.", "assumed-usual-size")
NO_FINAL_DRIVE = Said(
    "A limited-slip clutch pack sits in a final drive, and you said there is none: taken as you said.",
    "limited-slip-without-a-final-drive",
)


def assumptions(judgement: Judgement) -> Iterator[Assumption]:
    """Usual sizes where none are given, and where the question speaks against itself, which side was taken."""
    question, base = judgement.question, judgement.base
    for part in ("bearing", "mesh", "ring_geometry"):
        given = getattr(question, part)
        for row in base.defaults.values():
            if row.part == part and (given is None or getattr(given, row.quantity) is None):
                unit = "" if row.unit == "1" else f" {row.unit}"
                yield Assumption(
                    pointer=f"/{part}/{row.quantity}",
                    value=f"{plain(row.value)}{unit}",
                    standing=row.standing,
                    reason=USUAL_SIZE,
                )
    parts = judgement.worst_case.copper_parts
    if question.yellow_metal is False and parts:
        text = f"You said there is none, but the {' or '.join(parts)} are yellow metal."
        yield _judged("/yellow_metal", "yes", Said(text, "there-is-yellow-metal", parts_of_it=tuple(parts)))
    for index, ring in enumerate(question.rings or ()):
        made_of = ring.facing and base.facings[ring.facing].body
        if made_of and ring.body not in (None, made_of):
            text = f"You said {ring.body}, but a {ring.facing} ring is made of its facing."
            reason = Said(text, "ring-is-made-of-its-facing", body=ring.body, facing=ring.facing)
            yield _judged(f"/rings/{index}/body", made_of, reason)
    hot, cold = question.sump_hot_c, question.coldest_start_c
    if hot is not None and cold is not None and hot < cold:
        text = (
            f"You said that it starts no colder than {plain(cold)} °C, which is hotter than the hottest oil: taken as "
            "you said, but look again."
        )
        reason = Said(text, "start-is-hotter-than-the-sump", coldest_start_c=cold)
        yield _judged("/sump_hot_c", f"{plain(hot)} °C", reason)
    if question.limited_slip and question.final_drive == "none":
        yield _judged("/limited_slip", "yes", NO_FINAL_DRIVE)


def _judged(pointer: str, value: str, reason: str) -> Assumption:
    return Assumption(pointer=pointer, value=value, standing="judgement", reason=reason)
