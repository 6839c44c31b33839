"""The everyday calls at a counter: where each begins, what is pressed, and what is then on the page."""

import re
from typing import NamedTuple

from playwright.sync_api import Page

MINUS = "\N{MINUS SIGN}"


class Call(NamedTuple):
    """A call: its presses as `row field`, `choose field words`, `reply words`, or `job`, `press`, `button` with words.

    `type field text` is no press, nor is `number question`, which types the number of its slip. Everything in
    `ends_with` is on the page at the end.
    """

    name: str
    steps: tuple[str, ...]
    ends_with: tuple[str, ...]


CALLS = (
    Call(
        "old-five-speed-brass-tows-winter",
        (
            "row facing",
            "choose facing bronze",
            "choose duty towing and long climbs",
            f"choose coldest_start_c {MINUS}20 °C",
            "reply rear drive, the axle apart",
        ),
        ("GL-4 or MTF, 75W-90", "Never", "Our shelf"),
    ),
    Call("box-from-our-own-table", ("row box_ref", "choose box_ref bench-paper-5"), ("75W-80", "Our shelf")),
    Call("knows-nothing", ("reply rear drive, the axle apart", "reply can't say"), ("75W-90",)),
    Call(
        "book-says-gl-5-and-brass",
        (
            "row service_family",
            "type service_family GL-5",
            "type service_grade 75W-90",
            "row facing",
            "choose facing bronze",
        ),
        ("GL-5, 75W-90", "Copper strip"),
    ),
    Call(
        "paper-ring-and-a-jug-of-80w-90",
        (
            "job Is this jug right?",
            "row family",
            "type family GL-4",
            "type grade 80W-90",
            "row facing",
            "choose facing paper",
        ),
        ("80W-90",),
    ),
    Call(
        "which-jug-of-ours-paper-minus-25",
        (
            "row facing",
            "choose facing paper",
            "choose duty street driving",
            f"type coldest_start_c {MINUS}25".replace(MINUS, "-"),
            "reply no final drive",
        ),
        ("75W-80", "Invented jug B"),
    ),
    Call(
        "transaxle-bronze-hypoid",
        ("row facing", "choose facing bronze", "row final_drive", "choose final_drive hypoid"),
        ("Only what the book names",),
    ),
    Call(
        "drained-and-little-came-out",
        ("job Drain and top up", "row capacity_l", "type capacity_l 2.2", "type drained_l 1.2"),
        ("drains",),
    ),
    Call(
        "grinds-into-second-when-cold",
        ("job It grinds or is stiff", "choose symptoms It grinds going into one gear", "row when", "choose when cold"),
        ("Fluid may cure it", "Check first"),
    ),
    Call(
        "two-gears-sintered-others-bronze",
        (
            "row facing",
            "choose facing bronze",
            "row other_facing",
            "choose other_facing sintered metal",
            "reply rear drive, the axle apart",
        ),
        ("MTF or GL-4, 75W-80", "Our shelf"),
    ),
    Call(
        "quick-shift-which-ring",
        ("job Which ring?", "row duty", "choose duty competition"),
        ("Side by side", "What else must change"),
    ),
    Call(
        "slip-number-and-carbon-rings-now",
        (
            "number facing=bronze&duty=street",
            "button Open",
            "press Back to the counter",
            "row facing",
            "choose facing carbon",
            "reply no final drive",
        ),
        ("MTF or GL-4, 75W-80", "Our shelf"),
    ),
)


def play(page: Page, call: Call) -> int:
    """Play a call that is open at its beginning; how many presses it took."""
    presses = 0
    for step in call.steps:
        kind, _, what = step.partition(" ")
        presses += kind not in ("type", "number")
        if kind in ("row", "choose", "type"):
            field, _, words = what.partition(" ")
            row = page.locator(".row").filter(has=page.locator(f"[name={field}]"))
            if kind == "row":
                if row.get_attribute("open") is None:
                    row.locator("summary").first.click()
            elif kind == "type":
                row.locator(f"input[name={field}]:not([type])").fill(words)
            elif page.locator(f"select[name={field}]").count():
                row.locator("select").select_option(words)
            else:
                row.locator(f"[data-field={field}]").get_by_label(words, exact=True).check()
        elif kind == "reply":
            page.locator(".ask .reply").filter(has_text=what).first.click()
        elif kind == "number":
            paper = page.request.get(f"/slip?{what}").text()
            page.get_by_label("Slip number").fill(re.search("Slip number <b>(.+?)<", paper)[1])
        else:
            page.get_by_role("button" if kind == "button" else "link", name=what, exact=True).click()
        settle(page)
    return presses


def settle(page: Page) -> None:
    """Wait until what was pressed is answered."""
    page.wait_for_timeout(450)
    page.wait_for_function("() => document.getElementById('answer')?.ariaBusy !== 'true'")
