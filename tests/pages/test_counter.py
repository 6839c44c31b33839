"""Each user's path from opening the page to the printed slip."""

import re
from urllib.parse import parse_qs, urlsplit

from playwright.sync_api import Locator, Page, expect

BRONZE_TOWS = "/?facing=bronze&duty=towing&coldest_start_c=-20&final_drive=none"
MOST_QUESTIONS = 8


def said_by(page: Page) -> dict[str, str]:
    """The question as the address holds it."""
    return {name: values[0] for name, values in parse_qs(urlsplit(page.url).query).items()}


def row(page: Page, field: str) -> Locator:
    """The row that holds a field."""
    return page.locator(".row").filter(has=page.locator(f"[name={field}]"))


def choose(page: Page, field: str, words: str) -> None:
    """Open a row where it is closed and press a choice."""
    found = row(page, field)
    if found.get_attribute("open") is None:
        found.locator("summary").first.click()
    found.locator(f"[data-field={field}]").get_by_label(words, exact=True).check()


def answer_what_is_asked(page: Page) -> int:
    """Give the first reply to each question until nothing is asked; how many that took."""
    for asked in range(MOST_QUESTIONS):
        panel = page.locator(".ask")
        if not panel.count():
            return asked
        question = panel.locator("h2").inner_text()
        panel.locator(".reply").first.click()
        page.wait_for_function(
            "before => document.querySelector('.ask h2')?.innerText !== before"
            " && document.getElementById('answer').ariaBusy !== 'true'",
            arg=question,
        )
    raise AssertionError("it goes on asking")


def test_bronze_rings_that_tow_in_summer_and_start_at_minus_twenty(visit, keep, sheets) -> None:
    page = visit("/")
    expect(page.locator(".ask h2")).to_contain_text("front or rear drive")
    choose(page, "facing", "bronze")
    choose(page, "duty", "towing and long climbs")
    choose(page, "coldest_start_c", "\N{MINUS SIGN}20 °C")
    answer_what_is_asked(page)
    expect(page.locator("#class")).to_have_text("GL-4 or MTF, 75W-90")
    expect(page.locator(".cells")).to_contain_text("Label")
    expect(row(page, "box_kind").locator(".chip")).to_contain_text("rear drive")
    keep(page, "counter-answered")
    page.get_by_role("link", name="Slip", exact=True).click()
    expect(page.locator(".paper")).to_contain_text("75W-90")
    assert sheets(page, "slip-bronze") == {"A4": 1, "Letter": 1}


def test_the_same_on_a_phone_and_without_scripts(visit, keep) -> None:
    page = visit("/", size="phone", java_script_enabled=False)
    expect(page.locator(".units")).to_be_hidden()
    page.get_by_role("link", name="change").click()
    choose(page, "facing", "bronze")
    choose(page, "duty", "towing and long climbs")
    choose(page, "coldest_start_c", "\N{MINUS SIGN}20 °C")
    page.get_by_role("button", name="Answer").click()
    assert said_by(page) == {"facing": "bronze", "duty": "towing", "coldest_start_c": "-20"}
    for _ in range(MOST_QUESTIONS):
        if page.locator(".ask").count():
            page.locator(".ask .reply").first.click()
    expect(page.locator("#class")).to_have_text("GL-4 or MTF, 75W-90")
    keep(page, "counter-answered-phone-without-scripts")
    page.get_by_role("link", name="Why, and more").click()
    expect(page.get_by_role("heading", name="Why not the others")).to_be_visible()
    page.locator(".later a").first.click()
    expect(page.get_by_role("heading", name="What would change it")).to_be_visible()
    expect(page.locator(".turns")).to_contain_text("If the sump holds a hypoid final drive")


def test_a_choice_opens_the_next_row_that_nobody_said(visit) -> None:
    page = visit("/?duty=street")
    choose(page, "facing", "paper")
    expect(row(page, "coldest_start_c")).to_have_attribute("open", "")
    choose(page, "coldest_start_c", "0 °C")
    expect(row(page, "final_drive")).to_have_attribute("open", "")
    expect(row(page, "final_drive").locator("summary").first).to_be_focused()
    assert said_by(page) == {"facing": "paper", "duty": "street", "coldest_start_c": "0"}


def test_everything_can_be_done_with_the_keyboard(visit) -> None:
    page = visit("/")
    row(page, "facing").locator("summary").first.focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    length = page.evaluate("history.length")
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.wait_for_url("**/?facing=paper")
    assert page.evaluate("history.length") == length + 1  # Walking through the choices is one step back.
    page.keyboard.press("F9")
    expect(page.locator(".paper")).to_be_visible()
    page.go_back()
    page.keyboard.press("F2")
    expect(page).to_have_url(re.compile("/$"))
    expect(page.locator(".chip.said")).to_have_count(0)


def test_every_field_of_the_rows_can_be_reached_by_tab(visit) -> None:
    page = visit("/")
    page.eval_on_selector_all(".row", "all => all.forEach(one => { one.removeAttribute('name'); one.open = true; })")
    reached = set()
    for _ in range(90):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.name"))
    assert set(page.eval_on_selector_all("#question [name]", "all => all.map(one => one.name)")) <= reached


def test_the_slip_is_of_the_question_in_the_rows_however_fast_one_is(visit) -> None:
    page = visit(f"{BRONZE_TOWS}&service_family=gl-4")
    row(page, "service_grade").locator("summary").first.click()
    page.get_by_label("Grade it names").press_sequentially("80W-90")
    page.keyboard.press("F9")
    expect(page.locator(".paper")).to_be_visible()
    assert said_by(page)["service_grade"] == "80W-90"


def test_a_mistyped_grade_is_refused_beside_its_field(visit) -> None:
    page = visit("/?facing=paper")
    row(page, "service_grade").locator("summary").first.click()
    page.get_by_label("Grade it names").press_sequentially("75w-9")
    expect(row(page, "service_grade").locator(".mistake")).to_contain_text("75W-90")
    visit.complaints.clear()  # The console tells of the 422.


def test_an_offline_blip_keeps_the_page_and_says_so(visit) -> None:
    page = visit(BRONZE_TOWS)
    page.context.set_offline(True)
    choose(page, "condition", "worn")
    expect(page.locator("#answer")).to_contain_text("No connection")
    expect(page.locator("#class")).to_have_text("GL-4 or MTF, 75W-90")
    page.context.set_offline(False)
    page.get_by_role("button", name="Try again").click()
    expect(page.locator("#answer")).not_to_contain_text("No connection")
    visit.complaints.clear()  # The console tells of the failed request.


def test_a_reply_without_connection_is_told_where_the_caller_looks(visit) -> None:
    page = visit("/?facing=bronze", size="phone")
    page.context.set_offline(True)
    page.locator(".ask .reply").last.click()
    page.wait_for_timeout(300)  # A browser that keeps the place of what was pressed scrolls after the message.
    expect(page.locator("#answer > .mistakes")).to_be_in_viewport(ratio=1)
    visit.complaints.clear()  # The console tells of the failed request.


def test_the_number_of_a_slip_on_paper_opens_it_again(visit) -> None:
    page = visit("/slip?facing=bronze&duty=street")
    number = page.locator(".number b").inner_text()
    page = visit("/")
    page.get_by_label("Slip number").fill(number)
    page.get_by_role("button", name="Open").click()
    page.wait_for_url("**/slip?*facing=bronze*")
    expect(page.locator(".paper")).to_be_visible()


def test_the_back_button_takes_one_step_back(visit) -> None:
    page = visit("/")
    choose(page, "facing", "paper")
    page.wait_for_url("**/?facing=paper")
    choose(page, "duty", "street driving")
    page.wait_for_url("**/?facing=paper&duty=street")
    page.go_back()
    expect(row(page, "duty").locator(".chip")).to_have_class(re.compile("open"))
    expect(row(page, "facing").locator(".chip")).to_contain_text("paper")
    page.go_back()
    expect(page.locator(".chip.said")).to_have_count(0)
    page.go_forward()
    expect(row(page, "facing").locator(".chip")).to_contain_text("paper")


def test_fahrenheit_is_shown_and_remembered_while_celsius_is_sent(visit, keep) -> None:
    page = visit(f"{BRONZE_TOWS}&sump_hot_c=130&box_ref=bench-bronze-5")
    expect(page.locator(".cells")).to_contain_text("2.1 litres")
    page.get_by_role("button", name="°F").click()
    page.get_by_role("button", name="US quarts").click()
    expect(page.locator(".cells")).to_contain_text("2.2 US quarts")
    expect(page.get_by_role("img", name="Working window")).to_contain_text("hottest oil 266 °F")
    choose(page, "coldest_start_c", "\N{MINUS SIGN}22 °F")
    page.wait_for_url("**coldest_start_c=-30**")
    expect(page.get_by_role("img", name="Working window")).to_contain_text("coldest start \N{MINUS SIGN}22 °F")
    page.reload()
    expect(page.get_by_role("img", name="Working window")).to_contain_text("coldest start \N{MINUS SIGN}22 °F")
    assert not re.search(r"°C(?! \(KV)", page.locator("main").inner_text())
    keep(page, "counter-fahrenheit")
    page.get_by_role("button", name="°F").click()
    assert "°F" not in page.locator("main").inner_text()


def test_a_box_of_the_shop_says_what_is_ours_and_which_jug_to_take(visit, keep) -> None:
    page = visit("/")
    row(page, "box_ref").locator("summary").first.click()
    page.get_by_label("A box we know").select_option("bench-paper-5")
    expect(row(page, "facing").locator(".chip")).to_have_class(re.compile("ours"))
    expect(page.locator(".cells")).to_contain_text("Our shelf")
    expect(page.locator(".cells")).to_contain_text("Invented jug B")
    assert said_by(page) == {"box_ref": "bench-paper-5"}
    page.get_by_role("link", name="Why, and more").click()
    expect(page.locator("#why .jugs > li").last).to_contain_text("does not fit")
    keep(page, "counter-box-and-shelf")


def test_what_takes_long_to_work_out_comes_once_it_is_in_sight(visit) -> None:
    page = visit(BRONZE_TOWS)
    page.get_by_role("link", name="Why, and more").click()
    expect(page.locator("#why .turns")).to_contain_text("If the sump holds a hypoid final drive")
    page.locator(".later").last.scroll_into_view_if_needed()
    expect(page.get_by_role("img", name="What leads")).to_contain_text("this box")


def test_the_picture_has_words_and_a_table(visit, keep) -> None:
    page = visit(BRONZE_TOWS)
    expect(page.get_by_role("img", name="Working window")).to_be_visible()
    assert "This box starts at" in page.locator("#window-about").text_content()
    page.get_by_role("link", name="Why, and more").click()
    expect(page.get_by_role("row", name=re.compile("75W-90"))).to_contain_text("140 °C")
    page.emulate_media(media="print")
    keep(page, "counter-printed")
