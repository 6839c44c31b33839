"""What the rules say of an old fluid that stays in the box."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from knowledge.base import KnowledgeBase
from knowledge.box.question import FillQuestion
from knowledge.drain.change import Change
from knowledge.drain.over_box import over_box
from knowledge.drain.rules import LEFTOVER_RULES
from knowledge.parts.provenance import Finding

# Where a drain question says what the rules read of a change.
POINTERS: Mapping[str, tuple[str, ...]] = {
    "old_family": ("/old",),
    "old_is_limited_slip": ("/old",),
    "new_family": ("/new",),
    "most_left_of_its_kind": ("/old", "/new"),
    "left_share": ("/drained_l", "/rounds"),
    "rounds_shown": ("/rounds",),
    "has_blend": ("/old", "/new"),
    "rounds_to_target": ("/drained_l", "/target_old_share"),
    "target_old_share": ("/target_old_share",),
    "drained_share": ("/capacity_l", "/drained_l"),
}


def change_findings(
    change: Change, question: FillQuestion, base: KnowledgeBase, pointers: Mapping[str, tuple[str, ...]], box: str
) -> Iterator[Finding]:
    """What the rules say of a change in every case of a box; a rule that is concerned in none says nothing.

    `pointers` places what a rule reads of the change, `box` stands before the pointers into the box.
    """
    for item in over_box(LEFTOVER_RULES, change.facts, question, base):
        of_change = (pointer for name in item.rule.reads for pointer in pointers.get(name, ()))
        about = dict.fromkeys((*of_change, *(f"{box}{pointer}" for pointer in item.about)))
        yield replace(
            item.rule.finding(item.outcome, tuple(about)),
            limits=tuple(change.limits[name] for name in item.rule.reads if name in change.limits),
            only_if=item.only_if,
            share_of_worlds=item.share,
        )
