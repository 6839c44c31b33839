"""Each user's path from opening the page to the printed slip."""

import re
from urllib.parse import parse_qs, urlsplit

from playwright.sync_api import Page, expect

BRONZE_TOWS = "/?facing=bronze&duty=towing&coldest_start_c=-20&final_drive=none"
MOST_QUESTIONS = 8


def said_by(page: Page) -> dict[str, str]:
    """The question as the address holds it."""
    return {name: values[0] for name, values in parse_qs(urlsplit(page.url).query).items()}


def answer_what_is_asked(page: Page) -> int:
    """Give the first reply to each question until nothing is asked; how many that took."""
    for asked in range(MOST_QUESTIONS):
        panel = page.locator(".ask")
        if not panel.count():
            return asked
        question = panel.locator("h3").inner_text()
        panel.locator("> .replies .reply").first.click()
        page.wait_for_function(
            "before => document.querySelector('.ask h3')?.innerText !== before"
            " && document.getElementById('answer').ariaBusy !== 'true'",
            arg=question,
        )
    raise AssertionError("it goes on asking")


def test_bronze_rings_that_tow_in_summer_and_start_at_minus_twenty(visit, keep, sheets) -> None:
    page = visit("/")
    expect(page.locator(".ask h3")).to_contain_text("front or rear drive")
    page.get_by_role("group", name="Synchronizer ring facing").get_by_label("bronze", exact=True).check()
    page.get_by_role("group", name="It is used for").get_by_label("towing").check()
    page.get_by_label("Coldest start", exact=True).select_option("-20")
    answer_what_is_asked(page)
    expect(page.get_by_label("It is out of")).to_have_value("rear-drive")
    lead = page.get_by_role("region", name=re.compile("gear oil"))
    expect(lead.get_by_text("First choice", exact=True)).to_be_visible()
    expect(lead.locator(".jug")).to_contain_text("75W-90")
    name = lead.locator("h3").inner_text().removesuffix(lead.locator(".verdict").first.inner_text()).strip()
    keep(page, "counter-answered")
    page.get_by_role("link", name="Slip to print").click()
    expect(page.get_by_role("heading", name=name)).to_be_visible()
    assert sheets(page, "slip-bronze") == {"A4": 1, "Letter": 1}


def test_the_same_on_a_phone_and_without_scripts(visit, keep, sheets) -> None:
    page = visit("/", size="phone", java_script_enabled=False)
    expect(page.locator(".units")).to_be_hidden()
    page.get_by_role("group", name="Synchronizer ring facing").get_by_label("bronze", exact=True).check()
    page.get_by_role("group", name="It is used for").get_by_label("towing").check()
    page.get_by_label("Coldest start", exact=True).select_option("-20")
    page.get_by_role("button", name="Answer").click()
    assert said_by(page) == {"facing": "bronze", "duty": "towing", "coldest_start_c": "-20"}
    for _ in range(MOST_QUESTIONS):
        if page.locator(".ask").count():
            page.locator(".ask > .replies .reply").first.click()
    expect(page.get_by_text("First choice", exact=True)).to_be_visible()
    keep(page, "counter-answered-phone-without-scripts")
    page.get_by_role("link", name="Slip to print").click()
    expect(page.get_by_role("heading", name="What to fill it with")).to_be_visible()


def test_everything_can_be_done_with_the_keyboard(visit) -> None:
    page = visit("/")
    reached = set()
    for _ in range(80):
        page.keyboard.press("Tab")
        focused = page.evaluate("[document.activeElement.name, document.activeElement.type]")
        reached.add(focused[0])
        if focused == ["facing", "radio"]:
            page.keyboard.press("ArrowRight")
        elif focused[0] == "duty":
            [page.keyboard.press("ArrowRight") for _ in range(3)]
        elif focused[0] == "coldest_start_c":
            page.keyboard.type("-20")
        elif page.evaluate("document.activeElement.matches('form > details > summary:not(.open)')"):
            page.keyboard.press("Enter")
        if focused[0] == "use_shelf":
            break
    fields = set(page.eval_on_selector_all("#question [name]", "all => all.map(one => one.name)"))
    assert fields <= reached
    page.wait_for_url("**coldest_start_c=-20**")
    assert said_by(page) == {"facing": "bronze", "duty": "towing", "coldest_start_c": "-20"}
    expect(page.locator(".ask h3")).to_contain_text("front or rear drive")
    page.locator(".ask > .replies .reply").first.focus()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("box_kind=rear-drive"))
    page.keyboard.press("F9")
    expect(page.get_by_role("heading", name="What to fill it with")).to_be_visible()
    page.go_back()
    page.keyboard.press("F2")
    expect(page).to_have_url(re.compile("/$"))
    expect(page.get_by_role("group", name="Synchronizer ring facing").get_by_label("don't know")).to_be_focused()


def test_the_slip_is_of_the_question_in_the_form_however_fast_one_is(visit) -> None:
    page = visit(f"{BRONZE_TOWS}&service_family=gl-4")
    page.get_by_label("Grade it names").press_sequentially("80W-90")
    page.keyboard.press("F9")
    expect(page.get_by_role("heading", name="What to fill it with")).to_be_visible()
    assert said_by(page)["service_grade"] == "80W-90"


def test_the_number_of_a_slip_on_paper_opens_it_again(visit) -> None:
    page = visit("/slip?facing=bronze&duty=street")
    number = page.locator(".stamp b").inner_text()
    page = visit("/")
    page.get_by_label("Number of a slip on paper").fill(number)
    page.get_by_role("button", name="Open it").click()
    page.wait_for_url("**/slip?*facing=bronze*")
    expect(page.get_by_role("heading", name="What to fill it with")).to_be_visible()


def test_the_back_button_takes_one_step_back(visit) -> None:
    page = visit("/")
    facing = page.get_by_role("group", name="Synchronizer ring facing")
    facing.get_by_label("paper", exact=True).check()
    page.wait_for_url("**/?facing=paper")
    page.get_by_role("group", name="It is used for").get_by_label("street driving").check()
    page.wait_for_url("**/?facing=paper&duty=street")
    page.go_back()
    expect(page.get_by_role("group", name="It is used for").get_by_label("don't know")).to_be_checked()
    expect(facing.get_by_label("paper")).to_be_checked()
    page.go_back()
    expect(facing.get_by_label("don't know")).to_be_checked()
    page.go_forward()
    expect(facing.get_by_label("paper")).to_be_checked()


def test_fahrenheit_is_shown_and_remembered_while_celsius_is_sent(visit, keep) -> None:
    page = visit(f"{BRONZE_TOWS}&sump_hot_c=130&box_ref=bench-bronze-5")
    expect(page.locator(".from-box")).to_contain_text("2.1 litres")
    page.get_by_label("°F").check()
    page.get_by_label("US quarts").check()
    expect(page.locator(".from-box")).to_contain_text("2.2 US quarts")
    expect(page.locator(".lead")).to_contain_text("First shifts at \N{MINUS SIGN}4 °F")
    expect(page.get_by_role("img", name="Viscosity against temperature")).to_contain_text("hottest oil 266 °F")
    page.get_by_label("Coldest start", exact=True).select_option("-30")
    page.wait_for_url("**coldest_start_c=-30**")
    expect(page.locator("#answer")).to_contain_text("\N{MINUS SIGN}22 °F")
    page.reload()
    expect(page.locator(".lead")).to_contain_text("First shifts at \N{MINUS SIGN}22 °F")
    assert not re.search(r"°C(?! \(KV)", page.locator("main").inner_text())
    page.get_by_text("Show the shift").click()
    expect(page.locator("#shift-about")).to_contain_text("°F")
    assert "°C" not in page.get_by_role("region", name="Picture of the shift").text_content()
    keep(page, "counter-fahrenheit")
    page.get_by_label("°C").check()
    expect(page.locator(".lead")).to_contain_text("First shifts at \N{MINUS SIGN}30 °C")
    assert "°F" not in page.locator("main").inner_text()


def test_a_box_of_the_shop_and_the_jugs_on_its_shelf(visit, keep) -> None:
    page = visit("/")
    page.get_by_label("A box we know").select_option("bench-paper-5")
    expect(page.locator(".from-box")).to_contain_text("paper-lined rings")
    expect(page.locator(".service")).to_contain_text("The book names MTF 75W-80")
    page.get_by_label("jugs on our shelf too").check()
    jugs = page.get_by_role("region", name="Jugs on our shelf")
    expect(jugs.locator(".jugs > li").first).not_to_contain_text("does not fit")
    expect(jugs.locator(".jugs > li").last).to_contain_text("does not fit")
    assert said_by(page) == {"box_ref": "bench-paper-5", "use_shelf": "true"}
    keep(page, "counter-box-and-shelf")


def test_the_picture_has_words_and_a_table(visit, keep) -> None:
    page = visit(BRONZE_TOWS)
    picture = page.get_by_role("img", name="Viscosity against temperature")
    expect(picture).to_be_visible()
    assert "coldest start" in page.locator("#bands-about").text_content()
    page.get_by_text("The same as a table").click()
    expect(page.get_by_role("columnheader", name="75W-90")).to_be_visible()
    expect(page.get_by_role("row", name=re.compile("^100 °C"))).to_contain_text("13.5 to 18.5")
    page.emulate_media(media="print")
    keep(page, "counter-printed")
