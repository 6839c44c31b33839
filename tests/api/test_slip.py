"""The slip that is handed over: whole by itself, and opened again by its number."""

import re
from datetime import date
from html import unescape

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from api.figures import VERDICTS
from api.slip_code import FIELDS, NoSlipNumber, number_of, read_number
from knowledge.box.question import FlatFillQuestion

BRONZE = "facing=bronze&duty=towing&coldest_start_c=-20&final_drive=none&wet_clutch=false"
# As long as a note may be, in a script that takes twelve signs for each of its own in an address.
LONG_NOTE = "".join(chr(0x1F600 + place % 64) for place in range(200))


def test_a_slip_says_what_the_shops_table_filled_in_and_how_its_jugs_fare(client, base, read) -> None:
    query = "box_ref=bench-carbon-6&use_shelf=true"
    text, answer = read(client.get(f"/slip?{query}")).text, client.get(f"/v1/fill?{query}&detail=full").json()
    assert f"it is used for {base.duties[answer['question']['duty']].words}" in text
    first = min((jug for jug in answer["jugs"] if jug["rank"]), key=lambda jug: jug["rank"])
    assert f"{first['name']}: {VERDICTS[first['verdict']]}" in text


def test_a_slip_describes_each_of_several_ring_sets(client, read) -> None:
    text = read(client.get("/slip?box_ref=bench-carbon-6")).text
    assert "rings of gears 1-2 carbon, steel, triple-cone, new" in text
    assert "rings of gears 5-6 carbon, steel, single-cone, new" in text


def test_a_slip_of_a_day_that_no_number_can_hold_is_opened_all_the_same(client) -> None:
    for day in ("9999-12-31", "0001-01-01", "2204-06-08"):
        assert client.get(f"/slip?facing=paper&given={day}").status_code == 200


def test_a_slip_says_where_it_was_taken_otherwise_than_said(client, read) -> None:
    text = read(client.get(f"/slip?{BRONZE}&yellow_metal=false")).text
    assert "bronze or brass in the oil no. You said there is none, but the bronze rings are yellow metal." in text


@pytest.mark.parametrize(
    "query",
    [
        "",
        BRONZE,
        "box_ref=bench-carbon-6&use_shelf=true",
        "service_note=b%C3%BCcher+12",
        f"service_note={LONG_NOTE}",
    ],
)
def test_the_number_on_a_slip_leads_to_the_same_answer(client, query: str, read) -> None:
    paper = client.get(f"/slip?{query}" if query else "/slip").text
    number = re.search(r"Slip number <b>([0-9A-Z ]+)</b>", paper)[1]
    again = client.get("/slip", params={"number": number.lower()}, follow_redirects=True)
    answer_id = re.search(r"Answer ([0-9a-f]{16})", paper)[1]
    assert f"Answer {answer_id}" in again.text
    assert "Not the same" not in read(again).text


def test_every_field_of_the_question_has_its_place_in_a_number() -> None:
    assert list(FIELDS) == [name for name in FIELDS if name in FlatFillQuestion.model_fields]
    assert FIELDS.keys() == FlatFillQuestion.model_fields.keys()
    assert [name for name, field in FIELDS.items() if field.blank + len(field.words) >= field.of] == []


def told(name: str) -> st.SearchStrategy[str]:
    """A word of the field, or anything that somebody may have typed."""
    words = FIELDS[name].words
    typed = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=12)
    return st.sampled_from(words) | typed if words else typed


@settings(max_examples=200, deadline=None)
@given(st.fixed_dictionaries({}, optional={name: told(name) for name in FIELDS}), st.binary(min_size=8, max_size=8))
def test_a_number_holds_the_question_whatever_it_says(values: dict[str, str], id: bytes) -> None:
    number = number_of(values, id.hex(), date(2031, 2, 3))
    found, start, day = read_number(number.lower().replace("0", "o").replace("1", "l"))
    assert (found, day) == (values, date(2031, 2, 3))
    assert id.hex().startswith(start)


def test_the_number_of_an_everyday_question_is_read_over_the_phone_in_four_groups() -> None:
    stated = dict(pair.split("=") for pair in f"{BRONZE}&limited_slip=false&condition=worn&sump_hot_c=130".split("&"))
    assert len(number_of(stated, "38ca3fca2639468f", date(2026, 11, 29)).split()) <= 4


def test_a_sign_read_wrong_is_nearly_always_told() -> None:
    number = number_of({"facing": "bronze", "duty": "towing"}, "38ca3fca2639468f", date(2026, 11, 29))
    wrong = [
        number[:place] + sign + number[place + 1 :]
        for place in range(1, len(number))
        for sign in "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
        if number[place] not in (" ", sign)
    ]
    refused = 0
    for one in wrong:
        try:
            read_number(one)
        except NoSlipNumber:
            refused += 1
    assert refused / len(wrong) > 0.98


def test_numbers_on_older_paper_still_open(client) -> None:
    printed_in_2026_12_2 = "HDFD 6AVZ IPQ2 BWEK YVBQ A6I"
    opened = client.get("/slip", params={"number": printed_in_2026_12_2})
    assert {"facing=bronze", "coldest_start_c=-20", "duty=towing"} < set(re.split("[?&]", opened.headers["location"]))


def test_a_number_typed_wrong_is_refused_in_words(client, read) -> None:
    number = re.search(r"Slip number <b>([0-9A-Z ]+)</b>", client.get(f"/slip?{BRONZE}").text)[1]
    for wrong in (number[:-1], number[:6] + ("A" if number[6] != "A" else "B") + number[7:], "hello", "é", "A" * 600):
        response = client.get("/slip", params={"number": wrong})
        assert response.status_code == 422
        assert "Slip number: This is no number of a slip" in read(response).text


def test_a_number_of_an_older_knowledge_says_that_something_changed(client, read) -> None:
    values = {"facing": "bronze"}
    older = number_of(values, "00ff00" + "0" * 10, date(2026, 1, 2))
    text = read(client.get("/slip", params={"number": older}, follow_redirects=True)).text
    assert "Since this slip was written the knowledge or the shop's own tables have changed." in text


def test_the_gravest_cautions_of_the_box_are_on_the_slip(client, read, plain) -> None:
    text = read(client.get(f"/slip?{BRONZE}")).text
    answer = client.get(f"/v1/fill?{BRONZE}").json()
    assert answer["cautions"]
    assert plain(answer["every_fill_words"]) in text
    for caution in answer["cautions"][:3]:
        assert plain(caution["text"]) in text


def test_a_slip_says_when_its_answer_is_no_longer_the_same(client, read) -> None:
    page = client.get(f"/?{BRONZE}").text
    link = unescape(re.search(r'href="(slip\?[^"]+)"', page)[1])
    assert f"given={date.today()}" in link
    assert "Not the same" not in read(client.get(f"/{link}")).text
    older = (
        link.replace("id=", "id=0")
        .replace("knowledge=2", "knowledge=1")
        .replace("first=gl-4-75w-90", "first=mtf-75w-80")
    )
    text = read(client.get(f"/{older}")).text
    assert "The knowledge has changed since this slip was written on " in text
    assert "First choice then: Manual-transmission fluid 75W-80. Now: GL-4 gear oil 75W-90." in text
    verdict = link.replace("id=", "id=0").replace("verdict=fits", "verdict=fits-with-care")
    text = read(client.get(f"/{verdict}")).text
    assert "The knowledge is the same, but the question or the shop's own tables are not what they were." in text
    assert "GL-4 gear oil 75W-90 is still first. Then: fits with care. Now: fits." in text
    gone = link.replace("id=", "id=0").replace("first=gl-4-75w-90", "first=gl-9")
    assert "a fluid that is not listed here" in read(client.get(f"/{gone}")).text


def test_a_grade_that_no_class_has_is_named_as_the_book_prints_it(client, read) -> None:
    query = "facing=bronze&service_family=gl-4&service_grade=75W-110&final_drive=none"
    assert client.get(f"/v1/fill?{query}").json()["leader"]["lubricant"]["id"] is None
    text = read(client.get(f"/slip?{query}&id=00ff00&first=mtf-75w-80")).text
    assert "Now: GL-4 75W-110." in text


def test_the_slip_says_what_to_do_about_what_is_in_the_box(client, read, plain) -> None:
    query = f"{BRONZE}&in_it_family=gl-5&in_it_grade=80W-90"
    text = client.get(f"/v1/fill?{query}").json()["leftover"]["text"]
    for page in ("/why", "/slip"):
        assert plain(text) in read(client.get(f"{page}?{query}")).text


def test_what_the_caller_cannot_say_stays_said_from_page_to_slip(client, read) -> None:
    query = "facing=bronze&unanswerable=%2Fbox_kind&unanswerable=%2Fduty"
    page = client.get(f"/?{query}")
    assert page.status_code == 200
    assert len(re.findall(r'name="unanswerable" value="/[a-z_]+" checked', page.text)) == 2
    link = unescape(re.search(r'href="(slip\?[^"]+)"', page.text)[1])
    assert "Not the same" not in read(client.get(f"/{link}")).text
    asked = client.get(f"/v1/fill?{query}").json()["ask_next"]
    assert not {"/box_kind", "/duty"} & {item["pointer"] for item in asked}
