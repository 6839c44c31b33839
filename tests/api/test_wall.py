"""The wall chart and the boxes to learn from, as pages."""

import re
from datetime import date
from html import unescape

import pytest

from api.app import create_app
from api.settings import Settings
from tests.conftest import Client


@pytest.fixture(scope="module")
def public(base) -> Client:
    """A client of a service that is open to the public."""
    return Client(create_app(Settings(public=True), base))


def test_the_chart_says_where_it_comes_from_and_what_it_does_not_speak_for(client, read, base) -> None:
    page = read(client.get("/chart?box_kind=heavy-truck"))
    today = date.today()
    for words in (
        base.version,
        base.digest[:19],
        f"{today.day} {today:%B} {today.year}",
        "Check the book first",
        "hypoid",
        "limited-slip pack",
        "wet clutch",
        "rings that were changed",
    ):
        assert words in page.text


def test_a_cell_of_the_chart_leads_to_its_answer(client, read) -> None:
    html = client.get("/chart?box_kind=heavy-truck").text
    cells = re.findall(r'<td[^>]*><a href="\./\?([^"]+)">(.*?)</a>', html)
    assert len(cells) >= 3
    for link, words in cells:
        leader = client.get(f"/v1/fill?{link.replace('&amp;', '&')}").json()["leader"]["lubricant"]
        assert re.sub("<[^>]+>", "", words).endswith(leader["grade"])


@pytest.mark.parametrize(
    ("query", "slug", "pointer"),
    [
        ("box_kind=lorry-of-the-moon", "unknown-id", "/box_kind"),
        ("stocked=perhaps", "invalid-request", "/stocked"),
        ("kind=truck", "invalid-request", "/kind"),
    ],
)
def test_a_chart_that_cannot_be_made_says_why(client, assert_problem, query: str, slug: str, pointer: str) -> None:
    body = assert_problem(client.get(f"/chart?{query}"), 422, slug)
    assert [error["pointer"] for error in body["errors"]] == [pointer]


def test_customers_see_the_chart_and_nothing_of_a_shelf(public, assert_problem) -> None:
    page = public.get("/chart?box_kind=heavy-truck")
    assert page.status_code == 200
    assert "shelf" not in page.text
    assert 'href="chart"' in public.get("/").text
    assert_problem(public.get("/chart?stocked=true"), 422, "invalid-request")


def test_the_chart_of_the_shelf_names_only_what_stands_there(client) -> None:
    html = client.get("/chart?box_kind=heavy-truck&stocked=true").text
    assert "only what stands on our shelf" in html
    grades = set(re.findall(r'class="grade">(\d+W-\d+)', "".join(re.findall(r"<td.*?</td>", html))))
    assert grades <= {jug["label"]["grade"] for jug in client.get("/v1/shop/shelf").json()["shelf"]}


def as_read(html: str) -> str:
    """A part of a page without its tags and what typesetting did to numbers."""
    text = unescape(re.sub("<[^>]+>", "", html))
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{MINUS SIGN}", "-")


def test_ten_boxes_keep_their_answers_until_they_are_tried(client, read) -> None:
    response = client.get("/learn")
    assert "Ten boxes" in read(response).text
    lessons = re.findall(r"<section.*?</section>", response.text, re.DOTALL)
    assert len(lessons) == 10
    for lesson in lessons:
        shown, hidden = (as_read(part) for part in lesson.split("<details>"))
        link = unescape(re.search(r'href="\./\?([^"]+)"', lesson).group(1))
        answer = client.get(f"/v1/fill?{link}").json()
        reason = answer["leader"]["because"] if answer["leader"] else answer["service_data"]["text"]
        assert reason in hidden
        assert reason not in shown
        assert (f'src="v1/fill/window?{link}"' in unescape(lesson)) == bool(answer["leader"])
