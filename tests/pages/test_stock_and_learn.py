"""What to stock, and ten boxes to learn from, pressed through as a shop and a newcomer do."""

import re

from playwright.sync_api import Page, expect


def plan(page: Page) -> dict[str, list[str]]:
    """The table of boxes and jugs: the cells of each box."""
    rows = page.locator("table.plan tbody tr").all()
    return {line.locator("th").inner_text(): line.locator("td").all_inner_texts() for line in rows}


def jugs(page: Page) -> set[str]:
    """The jugs of the plan, by the heads of their columns."""
    heads = page.locator("table.plan thead th").all_inner_texts()[1:]
    return {head for head in heads if "not in the plan" not in head}


def test_a_shop_sees_which_jug_serves_which_box_and_tightens_what_counts(visit) -> None:
    page = visit("/")
    page.get_by_role("link", name="What to stock").first.click()
    expect(page.get_by_role("heading", name="What to stock")).to_be_visible()
    loose, few = plan(page), jugs(page)
    told = re.search(r"serves? (\d+) of (\d+) boxes", page.locator("main .say").inner_text())
    assert told
    covers, of = map(int, told.groups())
    assert sum(any(cell.startswith("✓") for cell in cells) for cells in loose.values()) == covers
    assert len(loose) == of
    page.get_by_role("link", name="Jugs that need care count: yes").click()
    expect(page.get_by_role("link", name="Jugs that need care count: no")).to_be_visible()
    strict = plan(page)
    assert all("care" not in cell for cells in strict.values() for cell in cells)
    page.get_by_role("link", name="Jugs behind the first choice count: yes").click()
    expect(page.get_by_role("link", name="Jugs behind the first choice count: no")).to_be_visible()
    # First choices alone take more kinds of jug, or leave boxes without one.
    served = sum(any(cell.startswith("✓") for cell in cells) for cells in plan(page).values())
    assert len(jugs(page)) > len(few) or served < covers
    expect(page.get_by_role("link", name="Jugs that need care count: no")).to_be_visible()


def test_a_newcomer_tries_before_the_answer_shows_with_its_reasons_and_picture(visit) -> None:
    page = visit("/learn")
    boxes = page.locator("section.step")
    expect(boxes).to_have_count(10)
    for box in boxes.all():
        expect(box.locator("dl")).to_be_visible()
        expect(box.locator("h3")).to_be_hidden()
    first = boxes.filter(has=page.locator("img")).first
    first.get_by_text("The answer", exact=True).click()
    expect(first.locator("h3")).to_be_visible()
    assert first.locator("article p").count() > 2
    drawn = first.get_by_alt_text("Which class leads over the coldest start and the hottest oil")
    drawn.scroll_into_view_if_needed()
    page.wait_for_function("one => one.complete && one.naturalWidth > 0", arg=drawn.element_handle())
    headline = first.locator("h3").inner_text()
    first.get_by_role("link", name="Turn it at the counter").click()
    expect(page.locator("#class")).to_be_visible()
    assert page.locator("#class").inner_text() in headline
