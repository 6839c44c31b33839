"""Every page at every size, by day and by night: accessible, whole, kept as a picture; and the slip on paper."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from api.settings import DEMO
from tests.pages.conftest import SIZES

SETTLED = (
    "facing=bronze&duty=towing&coldest_start_c=-20&final_drive=none&limited_slip=false&wet_clutch=false&condition=worn"
    "&sump_hot_c=130"
)
PAGES = {
    "counter-start": "/",
    "counter-settled": f"/?{SETTLED}",
    "counter-none-suitable": "/?facing=paper&final_drive=hypoid&service_family=gl-5&service_grade=75W-90",
    "why": f"/why?{SETTLED}",
    "turns": f"/turns?{SETTLED}",
    "firmness": "/firmness?facing=bronze&duty=street",
    "map": f"/map?{SETTLED}",
    "how": "/how",
    "slip": f"/slip?{SETTLED}",
    "faq": "/faq",
    "chart": "/chart?box_kind=truck",
    "stock": "/stock",
    "learn": "/learn",
    "jug-start": "/jug",
    "jug": "/jug?family=gl-4&grade=80W-90&facing=paper&other_family=mtf&other_grade=75W-80",
    "drain-start": "/drain",
    "drain": "/drain?capacity_l=2.2&drained_l=1.2&old_family=gl-5&new_family=gl-4",
    "complaint-start": "/complaint",
    "complaint": "/complaint?symptoms=grinds-one-gear&when=cold&facing=bronze",
    "ring": "/ring",
    "ring-under-competition": "/ring?duty=competition&facing=paper&cones=2",
    "rings": "/rings",
    "rings-told": "/rings?magnet=sticks",
    "ask-start": "/ask",
    "ask": f"/ask?{SETTLED}",
}
GRAVE = {"serious", "critical"}
LONG = "W" * 200
WORST_SLIPS = {
    "everything-shares-the-oil": "facing=paper&body=bronze&cones=3&condition=worn&yellow_metal=true&final_drive=hypoid"
    "&limited_slip=true&wet_clutch=true&coldest_start_c=-50&sump_hot_c=150&duty=competition&use_shelf=true",
    "conflict-with-a-long-note": "facing=carbon&body=bronze&cones=3&condition=worn&yellow_metal=true&final_drive=hypoid"
    "&limited_slip=true&wet_clutch=true&coldest_start_c=-50&sump_hot_c=150&duty=competition"
    f"&service_family=gl-5-limited-slip&service_grade=75W-140&service_note={LONG}",
    "changed": f"{SETTLED}&service_family=gl-5&service_grade=75W-90+{'M' * 33}&service_note={LONG}"
    "&id=0123456789abcdef&knowledge=2020.01.0+0123456789ab&first=mtf-75w-80&verdict=fits&given=2020-02-03",
}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_accessible_by_day_and_by_night_and_nothing_sticks_out(visit, keep, name: str) -> None:
    page = visit(PAGES[name])
    for colours, rules in (("light", None), ("dark", {"runOnly": ["color-contrast"]})):
        page.emulate_media(color_scheme=colours)
        page.eval_on_selector_all("details", "all => all.forEach(one => { one.open = true })")
        found = Axe().run(page, options=rules).response["violations"]
        assert [(one["id"], one["nodes"][0]["html"]) for one in found if one["impact"] in GRAVE] == []
    keep(page, f"{name}-dark")
    page.emulate_media(color_scheme="light")
    for size, viewport in SIZES.items():
        page.set_viewport_size(viewport)
        keep(page, f"{name}-{size}")
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


@pytest.mark.parametrize("path", [f"/slip?{SETTLED}", f"/slip?{WORST_SLIPS['changed']}", "/chart"])
def test_nothing_is_printed_smaller_than_eight_points(visit, path: str) -> None:
    page = visit(path)
    page.emulate_media(media="print")
    printed = """all => all.filter(one => one.checkVisibility() && [...one.childNodes].some(node => node.nodeType === 3
      && node.data.trim())).map(one => parseFloat(getComputedStyle(one).fontSize) * 72 / 96)"""
    sizes = page.eval_on_selector_all("main *:not(title, desc)", printed)
    assert len(sizes) > 20
    assert min(sizes) >= 8


@pytest.mark.parametrize("name", WORST_SLIPS)
def test_a_slip_fits_one_page_whatever_is_on_it(visit, keep, sheets, name: str) -> None:
    page = visit(f"/slip?{WORST_SLIPS[name]}")
    assert sheets(page, f"slip-{name}") == {"A4": 1, "Letter": 1}
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 700, "height": 1000})
    keep(page, f"slip-{name}")
    cut = "all => all.filter(one => one.scrollWidth > one.clientWidth + 1 && one.clientWidth).map(one => one.outerHTML)"
    assert page.eval_on_selector_all(".paper *", cut) == []


def test_the_wall_chart_is_one_page_and_whole(visit, sheets) -> None:
    page = visit("/chart")
    assert sheets(page, "chart") == {"A4": 1, "Letter": 1}
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 700, "height": 1000})
    assert page.eval_on_selector(".wall", "table => table.scrollWidth <= table.parentElement.clientWidth")


def test_from_a_public_question_to_an_answer_for_ones_own_box(visit) -> None:
    page = visit("/faq/lined-rings", size="phone")
    page.locator("#lined-rings").get_by_role("link", name="Ask about your own box").click()
    expect(page.locator(".chip.said").first).to_have_text("paper")


def test_the_public_questions_need_no_scripts_and_take_the_shops_colours(visit, run_server, tmp_path) -> None:
    for name in ("boxes", "rings", "shelf"):
        (tmp_path / f"{name}.csv").write_bytes((DEMO / f"{name}.csv").read_bytes())
    (tmp_path / "shop.css").write_text(":root { --paper: #ffeedd; }\n")
    with run_server("--shop", str(tmp_path)) as server:
        page = visit("/faq", server=server.address, color_scheme="light", java_script_enabled=False)
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 238, 221)"
        assert page.locator("[itemprop=mainEntity] [itemprop=acceptedAnswer] [itemprop=text]").count() >= 20
