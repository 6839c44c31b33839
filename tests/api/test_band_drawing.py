"""The drawing of an answer: every place on the paper, for any box."""

import re
from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from api.band_drawing import HEIGHT, WIDTH, drawing
from api.rendering import ENVIRONMENT
from knowledge.box.question import FillQuestion
from knowledge.fill.curves import fill_curves

BOX = {"yellow_metal": False, "final_drive": "none", "limited_slip": False, "wet_clutch": False, "duty": "street"}


@settings(max_examples=60, deadline=None)
@given(
    cold=st.floats(-50, 50),
    hot=st.floats(20, 150),
    rings=st.sampled_from([[], [{"facing": "bronze"}], [{"facing": "carbon", "condition": "worn"}]]),
    speed=st.sampled_from([None, 1.0, 30_000.0]),
    force=st.sampled_from([None, 1.0, 2000.0]),
)
def test_everything_stands_on_the_paper(base, cold: float, hot: float, rings: list, speed, force) -> None:
    question = {**BOX, "coldest_start_c": cold, "sump_hot_c": hot, "rings": rings}
    if speed:
        question["bearing"] = {"pitch_diameter_mm": 55.0, "speed_rpm": speed}
    if force:
        question["ring_geometry"] = {"detent_force_n": force}
    made = drawing(fill_curves(FillQuestion.model_validate(question), base))
    if made is None:
        return
    svg = ENVIRONMENT.get_template("bands.svg").render(drawing=made)
    root = ElementTree.fromstring(svg)
    assert root.attrib["role"] == "img"
    assert root.find("title").text and root.find("desc").text
    for shape in root.iter():
        assert "style" not in shape.attrib
        for name in ("x", "x1", "x2"):
            assert 0 <= float(shape.attrib.get(name, 0)) <= WIDTH
        for name in ("y", "y1", "y2"):
            assert 0 <= float(shape.attrib.get(name, 0)) <= HEIGHT
        for x, y in re.findall(r"(\S+),(\S+)", shape.attrib.get("points", "")):
            assert 0 <= float(x) <= WIDTH
            assert 0 <= float(y) <= HEIGHT
        for size in ("width", "height"):
            assert float(shape.attrib.get(size, 0)) >= 0


def test_bands_are_told_apart_without_colour(client) -> None:
    style = client.get("/fillwright.css").text
    dashes = {number: re.findall(rf"\.edge-{number} {{ stroke-dasharray: ([^;]+);", style) for number in (1, 2, 3)}
    assert dashes[1] == []
    assert dashes[2] and dashes[3] and dashes[2] != dashes[3]


def test_a_colder_place_stands_further_left_and_a_thicker_oil_higher(base) -> None:
    question = FillQuestion.model_validate({**BOX, "coldest_start_c": -20.0, "rings": [{"facing": "bronze"}]})
    made = drawing(fill_curves(question, base))
    points = [tuple(map(float, pair.split(","))) for pair in made.bands[0].edges[1].split()]
    assert points == sorted(points)
    assert [y for _, y in points] == sorted(y for _, y in points)
    assert made.window.x > made.plot.x
    assert made.window.x + made.window.width < made.plot.x + made.plot.width
