"""The pages as they are sent; tests/pages looks at them in a browser."""

import re
from html import unescape
from urllib.parse import parse_qs, parse_qsl, urljoin, urlsplit

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.app import create_app
from api.figures import figure_text
from api.permalink import FIELDS, address, at_the_counter, cleaned, field_of
from api.settings import Settings
from api.shop import Snapshot
from api.views.fill import named_together
from knowledge.box.facts import SizedRing
from knowledge.box.question import FlatFillQuestion, link_query
from knowledge.box.ring_loads import duty_question
from knowledge.errors import Fault
from knowledge.fill.answer import FigureAt, FillAnswer
from knowledge.fill.compute import compute_fill_answer
from knowledge.parts.provenance import Figure
from knowledge.shift.compute import full_shift_answer

HOSTILE = '<img src=x onerror="alert(1)">\'&{{ 7 * 7 }}'

OPEN = "facing=bronze&duty=towing&coldest_start_c=-20"
BRONZE = "facing=bronze&duty=towing&coldest_start_c=-20&final_drive=none&wet_clutch=false"


@pytest.mark.parametrize(
    "query", ["", BRONZE, "facing=none", "facing=paper&final_drive=hypoid", "box_ref=bench-carbon-6"]
)
def test_the_page_shows_what_the_api_answers(client, query: str, read, plain) -> None:
    answer = FillAnswer.model_validate(client.get(f"/v1/fill?{query}{'&' if query else ''}use_shelf=true").json())
    text = " ".join(read(client.get(f"{page}?{query}".removesuffix("?"))).text for page in ("/", "/why"))
    shown = [answer.summary, answer.say.split(". ")[-1], answer.answer_id, answer.service_data.text]
    shown.append(answer.every_fill_words)
    shown += [caution.text for caution in answer.cautions] + [item.text for item in answer.refused]
    shown += [words for jug in answer.jugs for words in (jug.name, jug.because)]
    shown += [words for item in answer.others for words in (item.lubricant.name, item.because)]
    shown += answer.way_out or ()
    if answer.leader:
        shown += [answer.leader.lubricant.grade, answer.leader.because, *answer.leader.care]
    if answer.window:
        shown += [answer.window.on_the_label[0], *answer.window.on_the_data_sheet, *answer.window.never_on_the_label]
    if answer.outcome == "depends":
        shown += [answer.ask_next[0].question, answer.ask_next[0].how_to_tell]
    assert [words for words in shown if plain(words).replace("-", "") not in text.replace("-", "")] == []


def test_every_page_takes_ids_however_they_are_written_and_the_words_that_people_use(client) -> None:
    for page in ("", "why", "turns", "firmness", "map", "slip", "jug", "drain", "complaint", "ring"):
        assert client.get(f"/{page}?box_ref=BENCH_paper-5&duty=Racing").status_code == 200, page
        for unknown in ("box_ref=nobody", "duty=stret"):
            assert client.get(f"/{page}?{unknown}").status_code == 422, page


def test_every_refused_class_leads_to_its_explanation(client) -> None:
    answer = client.get("/v1/fill?facing=paper").json()
    page = client.get("/why?facing=paper").text
    refused = [id for group in answer["refused"] for id in group["lubricants"]]
    links = {unescape(link) for link in re.findall(r'href="(v1/fill/lubricants/[^"]+)"', page)}
    assert refused
    assert {f"v1/fill/lubricants/{id}?facing=paper" for id in refused} <= links
    assert client.get(f"/{links.pop()}").status_code == 200


def test_each_reply_leads_to_the_page_of_its_question(client) -> None:
    asked = client.get(f"/v1/fill?{OPEN}").json()["ask_next"][0]
    page = client.get(f"/?{OPEN}").text
    links = [unescape(link) for link in re.findall(r'class="reply(?: open)?" href="\./\?([^"]+)"', page)]
    assert [reply["query"] for reply in asked["answers"]] == links
    assert all(client.get(f"/?{link}").status_code == 200 for link in links)


def test_a_figure_of_our_judgement_has_two_digits_and_the_mark() -> None:
    span = {"name": "x", "unit": "mm²/s", "min": 6.764, "max": 12.35, "standing": "computed"}
    assert figure_text(Figure(**span)) == "6.76 to 12.3 mm²/s"
    assert figure_text(Figure(**span, rests_on="judgement")) == "6.8 to 12 mm²/s*"
    time = FigureAt(min=0.1234, max=None, unit="s", at_c=-20, standing="computed", rests_on="from-memory", factor=3.52)
    assert figure_text(time) == "at least 120 ms* (at -20 °C, ×/÷ 3.5)"


def test_classes_refused_together_are_named_in_few_words(base) -> None:
    every = [row.id for row in base.lubricant_rows.values() if row.family == "gl-5"]
    assert named_together(every, base) == "GL-5"
    assert named_together(["gl-4-85w-90", "gl-4-85w-140"], base) == "GL-4 85W-90, 85W-140"


def test_a_form_left_at_dont_know_leads_to_the_bare_address(client) -> None:
    blank = "&".join(f"{name}=" for name in FIELDS)
    response = client.get(f"/?{blank}")
    assert (response.status_code, response.headers["location"]) == (307, "./")
    response = client.get("/?facing=none&cones=2&body=steel&duty=street")
    assert response.headers["location"] == "./?facing=none&duty=street"


@pytest.mark.parametrize(
    ("typed", "held"),
    [
        ("/?coldest_start_c=−20", "./?coldest_start_c=-20"),
        ("/?coldest_start_c=-17,5", "./?coldest_start_c=-17.5"),
        ("/jug?kv40_mm2_s=95,2&kv100_mm2_s=15,25", "jug?kv40_mm2_s=95.2&kv100_mm2_s=15.25"),
    ],
)
def test_a_number_may_be_typed_with_a_decimal_comma_and_copied_with_its_true_minus(client, typed, held) -> None:
    response = client.get(typed)
    assert (response.status_code, response.headers["location"]) == (307, held)
    assert client.get(urljoin("/", held)).status_code == 200


def test_what_may_set_thousands_apart_and_what_stands_in_a_note_is_left_as_it_is(client) -> None:
    assert client.get("/?service_interval_km=60,000").status_code == 422
    assert client.get("/?service_family=mtf&service_note=12,5").status_code == 200


def test_a_jug_beside_which_nothing_is_said_of_the_box_is_told_what_is_wanted_for_a_verdict(client, read) -> None:
    wanted = "Say what you know of the box, and it is judged for it."
    assert wanted in read(client.get("/jug?family=gl-5&grade=80W-90")).text
    assert wanted not in read(client.get("/jug?family=gl-5&grade=80W-90&facing=bronze")).text


def test_what_cannot_be_used_is_told_on_the_page(client, read) -> None:
    response = client.get("/?facing=papr&coldest_start_c=-400")
    page = read(response)
    assert response.status_code == 422
    assert "Coldest start: Must be from -50 up to 50 °C." in page.text
    response = client.get("/slip?facing=papr")
    assert response.status_code == 422
    assert "Did you mean paper?" in read(response).text
    assert "There is no such field." in read(client.get("/?color=red")).text


@pytest.mark.parametrize("path", ["/nothing", "/no/such/page", "/v1/fil", "/faq/no-such-question"])
def test_people_get_a_page_where_nothing_is_and_programs_a_problem(client, assert_problem, path) -> None:
    assert_problem(client.get(path), 404, "unknown-id" if path.startswith("/faq") else "unknown-path")
    seen = client.get(path, headers={"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"})
    assert seen.status_code == 404
    assert "Accept" in seen.headers["vary"].split(", ")
    home = next(link for link in re.findall(r'href="([^"]+)"', seen.text) if link.endswith("./"))
    assert urljoin(f"http://shop.test{path}", home) == "http://shop.test/"
    assert "What to fill" in seen.text


def test_what_takes_long_to_work_out_is_shown_as_the_api_answers_it(client, read, plain) -> None:
    question = {"rings": [{"facing": "bronze", "fluid_named": {"family": "gl-4"}}], "duty": "street"}
    query, shown = "facing=bronze&ring_fluid_family=gl-4&duty=street", {}
    for page in ("turns", "firmness", "map"):
        assert f'href="{page}?{query.replace("&", "&amp;")}"' in client.get(f"/why?{query}").text
        shown[page] = client.get(f"/{page}?{query}").text
    turns = client.post("/v1/fill/turns", json=question).json()["turns"]
    words = [change["words"] for turn in turns for change in turn["changes"]]
    assert words
    text = read(client.get(f"/turns?{query}")).text
    assert [one for one in words if plain(one) not in text] == []
    firm = client.post("/v1/fill/firmness", json={"question": question}).json()
    assert f"{100 * firm['holds']:.0f}\N{NO-BREAK SPACE}%" in shown["firmness"]
    assert shown["firmness"].count("<tr>") == 1 + len(firm["matters_most"])
    picture = client.get(f"/v1/fill/map?{query}", headers={"Accept": "image/svg+xml"}).text
    assert picture.strip() in shown["map"]


@pytest.mark.parametrize("address", ["/stock?allow_care=perhaps", "/chart?stocked=perhaps", "/chart?kind=truck"])
def test_people_get_a_page_where_a_parameter_is_wrong_and_programs_a_problem(client, assert_problem, address) -> None:
    pointer = f"/{address.partition('?')[2].partition('=')[0]}"
    body = assert_problem(client.get(address), 422, "invalid-request")
    assert [error["pointer"] for error in body["errors"]] == [pointer]
    page = client.get(address, headers={"Accept": "text/html"})
    assert page.status_code == 422
    assert unescape(body["detail"]) in unescape(page.text)
    assert "What to fill" in page.text


@pytest.mark.parametrize("page", ["/", "/slip"])
@pytest.mark.parametrize("field", [*FIELDS, "id", "first", "verdict", "knowledge", "given", "<script>"])
def test_no_text_of_the_caller_gets_out_of_its_place(client, page: str, field: str, read) -> None:
    response = client.get(page, params={field: HOSTILE}, follow_redirects=True)
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
    service_grade=st.sampled_from([None, "75W-90", "40", "low viscosity"]),
    box_ref=st.sampled_from([None, "bench-bronze-hypoid", "bench-unknown-4"]),
    use_shelf=st.sampled_from([None, "true"]),
)


@settings(max_examples=15, deadline=None, derandomize=True)
@given(fields=flat_questions)
def test_every_question_has_its_pages(client, fields: dict[str, str], read) -> None:
    values = at_the_counter(fields.items())
    page = read(client.get(address("/", values)))
    assert "cannot be answered" not in page.text
    slip = read(client.get(address("/slip", values)))
    assert "The book of this very box decides." in slip.text
    assert client.get(address("/v1/fill/window", values)).status_code == 200


@settings(max_examples=100, deadline=None)
@given(flat_questions)
def test_an_address_says_the_question_and_nothing_else(fields: dict[str, str]) -> None:
    values = cleaned(fields.items())
    link = address("./", values)
    assert {name: said[0] for name, said in parse_qs(urlsplit(link).query).items()} == values
    question = FlatFillQuestion.model_validate(values)
    again = {name: words[0] for name, words in parse_qs(link_query(question.question()) or "").items()}
    assert FlatFillQuestion.model_validate(again) == question


def test_each_question_to_the_caller_has_a_field_of_its_own(base) -> None:
    for row in base.unknowns.values():
        assert field_of(row.pointer) in FIELDS
    assert field_of("/rings/3/cones") == "cones"


def test_the_public_questions_are_the_same_on_the_page_and_for_programs(client, read, plain) -> None:
    page = client.get("/faq")
    text = read(page).text
    entries = client.get("/v1/faq").json()["faq"]
    assert len(entries) >= 20
    for entry in entries:
        assert plain(entry["question"]) in text
        assert plain(entry["answer"]).replace("-", "") in text.replace("-", "")
        assert f'id="{entry["id"]}"' in page.text
        assert entry["sources"]
    links = {unescape(link) for link in re.findall(r'href="ask\?([^"]+)"', page.text)}
    assert len(links) > 5
    for link in links:
        FlatFillQuestion.model_validate(dict(parse_qsl(link)))
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


def test_the_pages_work_without_a_shop(client, base, read) -> None:
    alone = type(client)(create_app(Settings(shop=None), base))
    assert "A box we know" not in read(alone.get("/")).text
    sheet = alone.get("/shop.css")
    assert (sheet.status_code, sheet.content) == (200, b"")


def test_a_fault_in_the_shops_tables_is_told_at_the_counter(base, client, read) -> None:
    app = create_app(Settings(), base)
    app.state.shop.now = Snapshot(app.state.shop.now.shop, (Fault("boxes.csv", 9, 2, "<b> is no box"),))
    text = read(type(client)(app).get("/")).text
    assert "boxes.csv, line 9, column 2: <b> is no box" in text
    assert "The state before the last edit is used" in text


def test_words_of_the_trade_in_an_answer_are_explained_beside_it(client, read) -> None:
    named = f"{BRONZE}&service_family=gl-5&service_grade=75W-90"
    text = read(client.get(f"/why?{named}")).text
    assert "Copper strip" in text
    assert "1a is best" in text


@pytest.mark.parametrize("facing", ["bronze", "sintered", "paper", "carbon"])
@pytest.mark.parametrize("duty", ["street", "competition"])
def test_the_curve_of_the_hard_shift_gets_as_hot_as_the_fill_answer_says(base, facing: str, duty: str) -> None:
    flat = FlatFillQuestion(facing=facing, cones=2, duty=duty, sump_hot_c=130, final_drive="none")
    answer = compute_fill_answer(flat.question(), base, detail="full")
    said = answer.candidates[0].figures.interface_peak_c
    drawn = full_shift_answer(duty_question(SizedRing(facing, 2), duty, 130, None, base), base)
    assert said.min == said.max == drawn.interface_peak_c == max(point.interface_c for point in drawn.curve)
