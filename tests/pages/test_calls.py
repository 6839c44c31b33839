"""Every everyday call is finished on a page, within six presses, in few words, with a picture and few elements."""

import gzip
import json

import pytest

from api.settings import DEMO
from knowledge.box.question import FillQuestion, link_query
from tests.pages.calls import CALLS, play

MOST_PRESSES = 6
DESK, PHONE = {"width": 1366, "height": 768}, {"width": 390, "height": 844}
# The words in sight without scrolling, those of drawings left out; what is on the page; and where its parts end.
COUNTED = """() => {
  const words = (root) => {
    let found = 0;
    const walker = root && document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
    for (let node = walker && walker.nextNode(); node; node = walker.nextNode()) {
      const parent = node.parentElement;
      if (parent.closest('svg, .unseen, option') || !parent.checkVisibility()) continue;
      const range = document.createRange();
      range.selectNode(node);
      const box = range.getBoundingClientRect();
      if (box.height && box.top < innerHeight) found += (node.data.match(/\\S+/g) || []).length;
    }
    return found;
  };
  const count = (text) => (text.match(/\\S+/g) || []).length;
  const bottom = (selector) => document.querySelector(selector)?.getBoundingClientRect().bottom || 0;
  return {
    answer: words(document.getElementById('answer')),
    rows: words(document.getElementById('question')),
    elements: document.querySelectorAll('*').length,
    hidden: count(document.body.textContent) - count(document.body.innerText),
    sizes: new Set([...document.querySelectorAll('body *')].filter((one) => one.checkVisibility() && [...one.childNodes]
      .some((node) => node.nodeType === 3 && node.data.trim())).map((one) => getComputedStyle(one).fontSize)).size,
    bottom: Math.max(bottom('#class'), bottom('.say'), bottom('.cells'), bottom('.ask')),
  };
}"""


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_a_call_is_finished_within_six_presses(visit, call) -> None:
    page = visit("/")
    assert play(page, call) <= MOST_PRESSES
    text = page.locator("main").inner_text()
    assert [words for words in call.ends_with if words not in text] == []


@pytest.fixture(scope="module")
def demo_links() -> dict[str, str]:
    """The fill questions of the demo that fit a link."""
    asked = {file.stem: json.loads(file.read_text()) for file in sorted((DEMO / "questions").glob("*.json"))}
    fills = {
        name: link_query(FillQuestion.model_validate(it["question"]))
        for name, it in asked.items()
        if it["ask"] == "fill"
    }
    return {name: link for name, link in fills.items() if link is not None}


def test_an_answer_is_read_at_a_glance(visit, demo_links) -> None:
    page = visit("/")
    found = []
    for name, link in demo_links.items():
        for viewport, most_words in ((DESK, 90), (PHONE, 80)):
            page.set_viewport_size(viewport)
            body = page.goto(f"/?{link}").body()
            seen = page.evaluate(COUNTED)
            limits = {
                "answer": most_words,
                "rows": 70,
                "elements": 400,
                "hidden": 500,
                "sizes": 5,
                "bottom": viewport["height"],
            }
            over = {key: seen[key] for key, most in limits.items() if seen[key] > most}
            if over or len(gzip.compress(body)) > 25_000:
                found.append((name, viewport["width"], over))
    assert not found, "\n".join(map(str, found))


def test_a_complaint_is_told_in_few_words_on_the_phone(visit) -> None:
    page = visit("/complaint?symptoms=grinds-one-gear&when=cold&facing=bronze", size="phone")
    assert page.evaluate(COUNTED)["answer"] <= 80
