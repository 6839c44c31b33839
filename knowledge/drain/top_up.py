"""A top-up: whether it does harm, what to say of it, and what to write on the job card."""

from typing import NamedTuple

from knowledge.drain.mixing import Fluid, Mixing
from knowledge.text import limit_percent, listed, percent, plain


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
        if harmless is None:
            unknown = (*mixing.unknown, *(("how much it holds",) if added_share is None else ()))
            open_to = listed(unknown, "and")
            most_of_all = f"; up to {limit_percent(least)} of what it holds does no harm" if least else ""
            headline, advice = f"It depends on {open_to}{most_of_all}.", f"Find out {open_to}."
        elif harmless:
            only = mixing.strictest_of_top_up.harmless_only
            headline = (
                f"Harmless{f' {only}' if only else ''}: {'it is the same kind' if mixing.is_same_kind else pair}."
            )
            advice = mixing.advice("job_card")
        else:
            headline = f"Not harmless: {pair}; up to {limit_percent(most)} would be."
            headline = headline if most else f"Not harmless: no {added.label} belongs into {in_it.label} here."
            advice = mixing.advice("too_much")
        return cls(harmless, headline, advice, advice and f"{pair}. {advice}")
