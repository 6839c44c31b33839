"""The pages as they are sent; tests/pages looks at them in a browser."""

import re
import time
from datetime import date
from html import unescape
from html.parser import HTMLParser
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.app import create_app
from api.permalink import FIELDS, address, cleaned, field_of, flat_values
from api.settings import DEMO, Settings
from api.shift_view import shift_view
from api.slip_code import number_of
from api.terminal import VERDICTS
from knowledge.answers import FillAnswer
from knowledge.fill import fill_answer
from knowledge.questions import FillQuestion, FlatFillQuestion

BRONZE = "facing=bronze&duty=towing&coldest_start_c=-20&final_drive=none&wet_clutch=false"
HOSTILE = '<img src=x onerror="alert(1)">\'&{{ 7 * 7 }}'
VOID = {"meta", "link", "input", "img", "br", "hr", "line", "rect", "path", "polygon", "polyline"}


class Reader(HTMLParser):
    """The words of a page, and the tags that were left open."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.open: list[str] = []
        self.ids: list[str] = []
        self.attributes: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes |= {name for name, _ in attrs}
        self.ids += [value for name, value in attrs if name == "id"]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes |= {name for name, _ in attrs}

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        """The words as they are read, however they were set."""
        return re.sub(r"\s+", " ", "".join(self.words)).replace("\N{MINUS SIGN}", "-")


def read(response: httpx.Response) -> Reader:
    """A page that is HTML, closed what it opened, and holds no script or style of its own."""
    assert response.headers["content-type"] == "text/html; charset=utf-8"
    reader = Reader(response.text)
    assert reader.open == []
    assert len(reader.ids) == len(set(reader.ids))
    assert not {name for name in reader.attributes if name == "style" or name.startswith("on")}
    assert not re.search(r"<style|<script(?![^>]* src=\"counter\.js\")", response.text)
    return reader


@pytest.mark.parametrize(
    "query", ["", BRONZE, "facing=none", "facing=paper&final_drive=hypoid", "box_ref=bench-carbon-6&use_shelf=true"]
)
def test_the_page_shows_what_the_api_answers(client, query: str) -> None:
    answer = FillAnswer.model_validate(client.get(f"/v1/fill?{query}").json())
    page = read(client.get(f"/?{query}" if query else "/"))
    text = page.text
    assert answer.summary in text
    assert answer.answer_id in text
    assert plain(answer.service_data.text) in text
    for line in answer.window.ask_for:
        assert all(plain(part).lower() in text.lower() for part in line.split(": ", 1))
    for caution in answer.cautions:
        assert plain(caution.text) in text
    for item in answer.candidates:
        assert item.lubricant.grade in text
    for jug in answer.jugs:
        assert jug.name in text
    if answer.outcome == "depends":
        assert plain(answer.ask_next[0].how_to_tell) in text


def plain(text: str) -> str:
    """Text with single spaces, as `Reader.text` gives it."""
    return re.sub(r"\s+", " ", text)


def test_dangers_stand_before_warnings(client) -> None:
    page = client.get(f"/?{BRONZE}").text
    assert 0 < page.rindex("caution danger") < page.index("caution warning") < page.index("caution note")


def test_a_form_left_at_dont_know_leads_to_the_bare_address(client) -> None:
    blank = "&".join(f"{name}=" for name in FIELDS)
    response = client.get(f"/?{blank}")
    assert (response.status_code, response.headers["location"]) == (307, "./")
    response = client.get("/?facing=none&cones=2&body=steel&duty=street")
    assert response.headers["location"] == "./?facing=none&duty=street"


def test_what_cannot_be_used_is_told_on_the_page(client) -> None:
    response = client.get("/?facing=papr&coldest_start_c=-400")
    page = read(response)
    assert response.status_code == 422
    assert "Coldest start: Must be -50 or more." in page.text
    response = client.get("/slip?facing=papr")
    assert response.status_code == 422
    assert "Did you mean paper?" in read(response).text
    assert "There is no such field." in read(client.get("/?color=red")).text


@pytest.mark.parametrize("page", ["/", "/slip"])
@pytest.mark.parametrize("field", [*FIELDS, "id", "first", "verdict", "knowledge", "given", "<script>"])
def test_no_text_of_the_caller_gets_out_of_its_place(client, page: str, field: str) -> None:
    response = client.get(page, params={field: HOSTILE})
    read(response)
    assert "<img" not in response.text
    assert response.status_code in (200, 422)


flat_questions = st.builds(
    lambda **fields: {name: value for name, value in fields.items() if value is not None},
    facing=st.sampled_from([None, "none", "bronze", "molybdenum", "sintered", "paper", "carbon"]),
    body=st.sampled_from([None, "bronze", "steel"]),
    cones=st.sampled_from([None, "1", "3"]),
    condition=st.sampled_from([None, "new", "worn"]),
    yellow_metal=st.sampled_from([None, "true", "false"]),
    final_drive=st.sampled_from([None, "none", "helical", "hypoid"]),
    coldest_start_c=st.sampled_from([None, "-50", "0", "50"]),
    sump_hot_c=st.sampled_from([None, "20", "99.5", "150"]),
    duty=st.sampled_from([None, "street", "competition"]),
    service_family=st.sampled_from([None, "mtf", "gl-5", "engine-oil"]),
    service_grade=st.sampled_from([None, "75W-90", "40", "low viscosity", "no such grade"]),
    box_ref=st.sampled_from([None, "bench-bronze-hypoid", "bench-unknown-4"]),
    use_shelf=st.sampled_from([None, "true"]),
)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(fields=flat_questions)
def test_every_question_has_its_pages(client, fields: dict[str, str]) -> None:
    values = cleaned(fields.items())
    page = read(client.get(address("/", values)))
    assert "cannot be answered" not in page.text
    slip = read(client.get(address("/slip", values)))
    assert "The manufacturer's service data decides." in slip.text
    assert client.get(address("/v1/fill/curves", values)).status_code == 200


@settings(max_examples=100, deadline=None)
@given(flat_questions)
def test_an_address_says_the_question_and_nothing_else(fields: dict[str, str]) -> None:
    values = cleaned(fields.items())
    link = address("./", values)
    assert {name: said[0] for name, said in parse_qs(urlsplit(link).query).items()} == values
    question = FlatFillQuestion.model_validate(values)
    assert FlatFillQuestion.model_validate(flat_values(question)) == question


def test_each_question_to_the_caller_has_a_field_of_its_own(base) -> None:
    for row in base.unknowns.values():
        assert field_of(row.pointer) in FIELDS
    assert field_of("/rings/3/cones") == "cones"


def test_a_slip_says_when_its_answer_is_no_longer_the_same(client) -> None:
    page = client.get(f"/?{BRONZE}").text
    link = unescape(re.search(r'href="(slip\?[^"]+)"', page)[1])
    assert f"given={date.today()}" in link
    assert "Not the same" not in read(client.get(f"/{link}")).text
    older = (
        link.replace("id=", "id=0")
        .replace("knowledge=2", "knowledge=1")
        .replace("first=gl-4-75w-85", "first=mtf-75w-80")
    )
    text = read(client.get(f"/{older}")).text
    assert "The knowledge has changed since this slip was written on " in text
    assert "First choice then: Manual-transmission fluid 75W-80. Now: GL-4 gear oil 75W-85." in text
    verdict = link.replace("id=", "id=0").replace("verdict=fits-with-care", "verdict=fits")
    text = read(client.get(f"/{verdict}")).text
    assert "The knowledge is the same, but the question or the shop's own tables are not what they were." in text
    assert "GL-4 gear oil 75W-85 is still first. Then: fits. Now: fits with care." in text
    gone = link.replace("id=", "id=0").replace("first=gl-4-75w-85", "first=gl-9")
    assert "a class that is no longer listed" in read(client.get(f"/{gone}")).text


def test_the_public_questions_are_the_same_on_the_page_and_for_programs(client) -> None:
    page = client.get("/faq")
    text = read(page).text
    entries = client.get("/v1/faq").json()["faq"]
    assert len(entries) >= 20
    for entry in entries:
        assert plain(entry["question"]) in text
        assert plain(entry["answer"]).replace("-", "") in text.replace("-", "")
        assert f'id="{entry["id"]}"' in page.text
        assert entry["sources"]
    for link in set(re.findall(r'href="(\./\?[^"]+)"', page.text)):
        assert client.get("/" + unescape(link)[2:]).status_code == 200
    for name in ("FAQPage", "Question", "Answer"):
        assert f'itemtype="https://schema.org/{name}"' in page.text


def test_a_question_by_its_id_leads_to_its_place(client, assert_problem) -> None:
    assert client.get("/faq/dual-label").headers["location"] == "../faq#dual-label"
    assert_problem(client.get("/faq/dual-labl"), 404, "unknown-id")


def test_only_the_public_questions_may_be_framed_and_only_by_the_shops_own_page(client) -> None:
    policy = client.get("/faq").headers["content-security-policy"]
    assert "frame-ancestors 'self' https://shop.example" in policy
    assert "frame-ancestors 'none'" in client.get("/").headers["content-security-policy"]
    assert "unsafe" not in policy


def test_the_pages_work_without_a_shop(client, base) -> None:
    alone = type(client)(create_app(Settings(shop=None), base))
    assert "A box we know" not in read(alone.get("/")).text
    sheet = alone.get("/shop.css")
    assert (sheet.status_code, sheet.content) == (200, b"")


def test_a_fault_in_the_shops_tables_is_told_at_the_counter(serve, tmp_path) -> None:
    for name in ("boxes", "rings", "shelf"):
        (tmp_path / f"{name}.csv").write_bytes((DEMO / f"{name}.csv").read_bytes())
    with serve("--shop", str(tmp_path)) as server:
        with (tmp_path / "boxes.csv").open("a") as boxes:
            boxes.write("<b>,x\n")
        for _ in range(80):
            page = httpx.get(server).text
            if "shop-fault" in page:
                break
            time.sleep(0.1)
    assert re.search(r"boxes\.csv, line \d+, column \d+", page)
    assert "The state before the last edit is used" in page


def test_a_box_of_known_rings_and_duty_shows_its_hard_shift_as_picture_and_table(client) -> None:
    page = client.get("/", params={"facing": "paper", "cones": "2", "duty": "towing"}).text
    address = re.search(r'<a href="(v1/shift/curve\?[^"]+)"', page)[1]
    picture = client.get("/" + unescape(address), headers={"Accept": "image/*"})
    assert picture.headers["content-type"].startswith("image/svg+xml")
    assert picture.text.strip() in page
    assert "Table of the shift" in page


def test_a_slip_says_what_the_shops_table_filled_in_and_how_its_jugs_fare(client, base) -> None:
    text = read(client.get("/slip?box_ref=bench-bronze-5&use_shelf=true")).text
    answer = client.get("/v1/fill?box_ref=bench-bronze-5&use_shelf=true").json()
    assert "Rings of gears 1-2 bronze, bronze, single-cone, worn" in text
    assert f"It is used for {base.duties[answer['question']['duty']].words}" in text
    for jug in answer["jugs"]:
        assert f"{jug['name']} ({VERDICTS[jug['verdict']]})" in text


def test_a_slip_describes_each_of_several_ring_sets(client) -> None:
    text = read(client.get("/slip?box_ref=bench-carbon-6")).text
    assert "Rings of gears 1-2 carbon, steel, triple-cone, new" in text
    assert "Rings of gears 5-6 carbon, steel, single-cone, new" in text


@pytest.mark.parametrize("query", ["", BRONZE, "box_ref=bench-carbon-6&use_shelf=true", "service_note=b%C3%BCcher+12"])
def test_the_number_on_a_slip_leads_to_the_same_answer(client, query: str) -> None:
    paper = client.get(f"/slip?{query}" if query else "/slip").text
    number = re.search(r"slip number <b>([A-Z2-7 ]+)</b>", paper)[1]
    again = client.get("/slip", params={"number": number.lower()}, follow_redirects=True)
    answer_id = re.search(r"answer ([0-9a-f]{16})", paper)[1]
    assert f"answer {answer_id}" in again.text
    assert "Not the same" not in read(again).text


def test_a_number_typed_wrong_is_refused_in_words(client) -> None:
    number = re.search(r"slip number <b>([A-Z2-7 ]+)</b>", client.get(f"/slip?{BRONZE}").text)[1]
    for wrong in (number[:-1], number[:6] + ("A" if number[6] != "A" else "B") + number[7:], "hello", "é", "A" * 600):
        response = client.get("/slip", params={"number": wrong})
        assert response.status_code == 422
        assert "Slip number: This is no number of a slip" in read(response).text


def test_a_number_of_an_older_knowledge_says_that_something_changed(client) -> None:
    values = {"facing": "bronze"}
    older = number_of(values, "00ff00" + "0" * 10, date(2026, 1, 2))
    text = read(client.get("/slip", params={"number": older}, follow_redirects=True)).text
    assert "Since this slip was written the knowledge or the shop's own tables have changed." in text


def test_all_cautions_that_surely_apply_are_on_the_slip(client) -> None:
    text = read(client.get(f"/slip?{BRONZE}")).text
    for caution in client.get(f"/v1/fill?{BRONZE}").json()["cautions"]:
        assert plain(caution["text"]) in text
        assert not caution["only_if"] or caution["only_if"] in text


def test_words_of_the_trade_in_an_answer_are_explained_beside_it(client) -> None:
    settled = f"{BRONZE}&limited_slip=false&condition=worn&sump_hot_c=130"
    for page in ("/", "/slip"):
        text = read(client.get(f"{page}?{settled}")).text
        assert "KV100" in text and "How thick the oil is at 100 °C" in text
        assert ("bearing viscosity ratio" not in text.lower()) or "against what the bearings want" in text


def test_dangers_and_what_surely_belongs_to_the_box_stand_in_sight_and_the_rest_is_folded(client) -> None:
    page = client.get(f"/?{BRONZE}").text
    folded = page[page.index("for every oil change, and what depends") :]
    assert "caution danger" not in folded
    assert "used oil off your skin" in folded and "stay away from GL-5 level oil" not in folded


def test_without_a_known_ring_there_is_no_shift_to_show(client) -> None:
    assert "Table of the shift" not in client.get("/", params={"duty": "towing"}).text


@pytest.mark.parametrize("facing", ["bronze", "sintered", "paper", "carbon"])
@pytest.mark.parametrize("duty", ["street", "competition"])
def test_the_picture_of_the_hard_shift_gets_as_hot_as_the_fill_answer_says(base, facing: str, duty: str) -> None:
    flat = FlatFillQuestion(facing=facing, cones=2, duty=duty, sump_hot_c=130, final_drive="none")
    answer = fill_answer(flat.question(), base)
    said = answer.candidates[0].figures.interface_peak_c
    drawn = shift_view(answer.question, base).answer
    assert said.min == said.max == drawn.interface_peak_c == max(point.interface_c for point in drawn.curve)


def test_of_several_ring_sets_the_one_that_gets_too_hot_is_drawn(base) -> None:
    rings = ({"facing": "bronze", "cones": 3}, {"facing": "paper", "cones": 1})
    question = FillQuestion.model_validate({"rings": rings, "duty": "competition"})
    assert shift_view(question, base).answer.facing == "paper"
