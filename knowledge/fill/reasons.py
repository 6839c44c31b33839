"""Why the leader leads and why each of the others stands behind it, in a sentence."""

from knowledge.base import KnowledgeBase
from knowledge.box.weights import kinds_within, most_delicate
from knowledge.fill.answer import LeadsBy
from knowledge.fill.open_cases import when_it_leads
from knowledge.judging.judgement import Judgement
from knowledge.judging.usual import is_same_class, row_of_box
from knowledge.loading.custom_rows import UsualFillRow
from knowledge.lubricant import Lubricant
from knowledge.text import (
    Said,
    as_condition,
    capitalized,
    code_of,
    listed,
    percent,
    plain,
    reworded,
    said_of,
    significant,
    within_a_sentence,
)

COLD_RULES = frozenset({"cold-start-needs-oil-that-flows", "cold-first-shifts-need-the-film-wiped"})


def leads_by(judgement: Judgement) -> tuple[LeadsBy, str]:
    """What put the leader first, and that in one sentence."""
    index = judgement.leader
    assert index is not None
    leader, lead = judgement.lubricants[index], judgement.lead
    if judgement.is_asked_for(index):
        by: LeadsBy = "ring-maker" if judgement.named.by == "ring-maker" else "service-data"
        who = "The maker of the rings" if by == "ring-maker" else "The book"
        return by, meant(judgement) or Said(f"{who} names it.", f"{by}-names-it")
    if lead.outcome == "depends":
        # Each kind of box has a custom of its own, so that no share holds over several.
        if len(kinds_within(judgement.question.box_kind, judgement.base)) > 1:
            return "custom", Said("The most common fill over what is still open.", "most-common-over-what-is-open")
        share = significant(lead.share, 1)
        return "custom", Said(
            f"The usual fill in about {percent(share)} of such boxes.", "usual-in-a-share", share=share
        )
    row = usual_row(judgement)
    if row is None:
        return "custom", Said("Of what this box bears it is the most usual.", "most-usual-of-what-it-bears")
    usual = usual_oil(row, judgement.base)
    words = row.words.format(rings=_rings(judgement))
    if is_same_class(usual, leader) or usual.grade == leader.grade:
        return "custom", Said(f"The usual fill for {words}.", "usual-fill", boxes=words)
    return _gave_way(usual, judgement)


def meant(judgement: Judgement) -> str | None:
    """What a line of an old book means today, in the words of its row; None where it is to be read as printed."""
    words = judgement.named.means
    return words and Said(words, "book-means", words=words)


def usual_row(judgement: Judgement) -> UsualFillRow | None:
    """The row of custom that holds for the box at the likeliest of what is open; None where none does."""
    rows = judgement.base.rows(UsualFillRow)
    place = row_of_box(judgement.cases)
    return rows[place] if place < len(rows) else None


def usual_oil(row: UsualFillRow, base: KnowledgeBase) -> Lubricant:
    """The first choice of a row of custom."""
    return next(oil for oil in base.lubricants if oil.id == row.lubricants[0])


def _rings(judgement: Judgement) -> str:
    facings = [ring.facing for ring in judgement.question.rings or () if ring.facing]
    return judgement.base.facings[most_delicate(facings, judgement.base)].ring_words if facings else "such rings"


def _gave_way(usual: Lubricant, judgement: Judgement) -> tuple[LeadsBy, str]:
    """Why the usual fill does not lead."""
    by: LeadsBy
    index = next(place for place, oil in enumerate(judgement.lubricants) if oil.id == usual.id)
    question = judgement.question
    cold = "in hard cold" if question.coldest_start_c is None else f"at {plain(question.coldest_start_c)} °C"
    stated_c, long_c = question.sump_hot_c, usual.long_sump_c
    name, of = f"The usual {usual.short_name}", {"usual": usual.id}
    if judgement.verdict(index) == "does-not-fit":
        refusal = judgement.main_refusal(index)
        by = "cold" if refusal.rule in COLD_RULES else "custom"
        text = f"{name} does not go in: {within_a_sentence(refusal.text)}"
        return by, Said(text, "usual-is-refused", said_of(refusal.text), **of, reason=code_of(refusal.text))
    if stated_c is not None and stated_c > long_c:
        text = f"{name} is good to about {plain(long_c)} °C for long; this oil reaches {plain(stated_c)} °C."
        return "heat", Said(text, "usual-is-not-for-such-heat", **of, long_sump_c=long_c, sump_hot_c=stated_c)
    if judgement.verdict(index) == "fits":
        text = f"{name} makes hard first shifts {cold}."
        return "cold", Said(text, "usual-makes-hard-first-shifts", **of, coldest_start_c=question.coldest_start_c)
    care = next(judgement.care(index), None)
    if care:
        text, parts = f"{name} needs care: {care.text}", said_of(care.text)
        return "custom", Said(text, "usual-needs-care", parts, **of, reason=code_of(care.text))
    return "custom", Said(f"{name} stands behind it here.", "usual-stands-behind", **of)


def behind(judgement: Judgement, index: int) -> str:
    """Why a class stands behind the leader, or when it would lead."""
    if judgement.leader is None:
        return ""
    leader, oil = judgement.lubricants[judgement.leader], judgement.lubricants[index]
    sold = judgement.base.sold(oil.id, judgement.region)
    told_from = judgement.base.limit("thickness-told-from")
    if judgement.verdict(index) == "depends" or judgement.lead.outcome == "depends":
        if index in judgement.alike:
            return Said("Much the same oil under another name.", "same-oil")
        if found := when_it_leads(judgement, index):
            return Said(f"If {found}, this is the usual fill.", "usual-if", condition=found)
        return _first_doubt(judgement, index) or _compared(oil, leader, sold, told_from)
    if judgement.verdict(index) == "fits-with-care" and (doubt := _first_doubt(judgement, index)):
        return doubt
    if index in judgement.alike:
        return Said("Much the same oil under another name; as good where it is at hand.", "same-oil-as-good")
    return _compared(oil, leader, sold, told_from)


def _first_doubt(judgement: Judgement, index: int) -> str | None:
    """What is held against a class and not against the leader."""
    assert judgement.leader is not None
    of_leader = {rule for rule, _ in judgement.rules_of_care(judgement.leader)}
    told = (rule for rule, share in judgement.rules_of_care(index) if share > judgement.ranking.rare)
    doubt = next((rule for rule in told if rule not in of_leader), None)
    if doubt is None:
        return None
    found = judgement.note(doubt, index)
    return in_short(as_condition(found.text, found.only_if))


def _compared(oil: Lubricant, leader: Lubricant, sold: str, told_from: float) -> str:
    """Thinner or thicker than the leader, how much heat it bears, and how it is sold."""
    ratio = oil.kv100_min_mm2_s * oil.kv100_max_mm2_s / (leader.kv100_min_mm2_s * leader.kv100_max_mm2_s)
    thickness = "thinner" if ratio < 1 / told_from else "thicker" if ratio > told_from else "as-thick"
    parts = [THICKNESS[thickness], f"good to about {plain(oil.long_sump_c)} °C for long"]
    if sold != "everyday":
        parts.append("mostly to order" if sold == "to-order" else "rarely sold")
    text = listed(parts, "and") if len(parts) == 2 else ", ".join(parts)
    return Said(f"{capitalized(text)}.", "compared", thickness=thickness, long_sump_c=oil.long_sump_c, sold=sold)


THICKNESS = {
    "thinner": "thinner: easier in the cold",
    "thicker": "thicker: stiffer in the cold",
    "as-thick": "as thick",
}

LONGEST_REASON = 160


def in_short(text: str) -> str:
    """As many sentences of a reason as are short, and at least the first."""
    shown, *more = str(text).split(". ")
    for count, sentence in enumerate(more, start=1):
        if len(shown) + len(sentence) > LONGEST_REASON:
            return reworded(text, shown if shown.endswith((".", ":")) else f"{shown}.", first_sentences=count)
        shown = f"{shown}. {sentence}"
    return text if shown.endswith((".", ":")) else reworded(text, f"{text}.")
