"""A top-up: whether it does harm, what to say of it, and what to write on the job card."""

from typing import Any, NamedTuple

from knowledge.drain.mixing import Fluid, Mixing
from knowledge.text import Said, limit_percent, listed, percent, plain, said_of

HOW_MUCH = Said("how much it holds", "how-much-it-holds")


class TopUp(NamedTuple):
    """A fluid poured on top of another."""

    harmless: bool | None
    headline: str
    advice: str | None
    job_card: str | None

    @classmethod
    def of(cls, mixing: Mixing, added: Fluid, in_it: Fluid, top_up_l: float, added_share: float | None) -> "TopUp":
        """What is said of it; the share is None where nobody knows how much the box holds."""
        harmless, (least, most) = mixing.is_harmless(added_share), mixing.harmless_span
        advice: str | None
        amount = f"{plain(top_up_l)} l" if added_share is None else f"{plain(top_up_l)} l ({percent(added_share)})"
        pair = f"{amount} of {added.label} in {in_it.label}"
        kinds: dict[str, Any] = {"added": added.kind, "in_it": in_it.kind}
        of = kinds | {"top_up_l": top_up_l, "added_share": added_share}
        if harmless is None:
            unknown = (*mixing.unknown, *((HOW_MUCH,) if added_share is None else ()))
            open_to = listed(unknown, "and")
            most_of_all = f"; up to {limit_percent(least)} of what it holds does no harm" if least else ""
            headline = Said(f"It depends on {open_to}{most_of_all}.", "top-up-depends", unknown, harmless_share=least)
            advice = Said(f"Find out {open_to}.", "find-out", unknown)
        elif harmless:
            row = mixing.strictest_of_top_up
            only = f" {row.harmless_only}" if row.harmless_only else ""
            same, told = mixing.is_same_kind, {"harmless_only": row.id if only else None}
            headline = Said(f"Harmless{only}: {pair}.", "top-up-is-harmless", **of, **told)
            if same:
                headline = Said(f"Harmless{only}: it is the same kind.", "top-up-of-the-same-kind", **told)
            advice = mixing.advice("job_card")
        elif most:
            text = f"Not harmless: {pair}; up to {limit_percent(most)} would be."
            headline, advice = Said(text, "too-much-top-up", **of, harmless_share=most), mixing.advice("too_much")
        else:
            text = f"Not harmless: no {added.label} belongs into {in_it.label} here."
            headline, advice = Said(text, "no-top-up", **kinds), mixing.advice("too_much")
        job_card = Said(f"{pair}. {advice}", "job-card", said_of(advice), **of) if advice else None
        return cls(harmless, headline, advice, job_card)
