"""The chart of an answer: every place on the paper, for any box."""

import re
from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from api.charts.bands import bands_chart
from api.charts.chart import WIDTH
from knowledge.box.question import FillQuestion
from knowledge.fill.curves import fill_curves

SVG = "{http://www.w3.org/2000/svg}"
BOX = {"yellow_metal": False, "final_drive": "none", "limited_slip": False, "wet_clutch": False, "duty": "street"}


@settings(max_examples=30, deadline=None, derandomize=True)
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
    chart = bands_chart(fill_curves(FillQuestion.model_validate(question), base))
    if chart is None:
        return
    root = ElementTree.fromstring(chart.svg())
    height = float(root.attrib["height"])
    assert root.attrib["role"] == "img"
    assert root.find(f"{SVG}title").text
    assert root.find(f"{SVG}desc").text
    for shape in root.iter():
        assert "style" not in shape.attrib
        for name in ("x", "x1", "x2"):
            assert 0 <= float(shape.attrib.get(name, 0)) <= WIDTH
        for name in ("y", "y1", "y2"):
            assert 0 <= float(shape.attrib.get(name, 0)) <= height
        for x, y in re.findall(r"(\S+),(\S+)", shape.attrib.get("points", "")):
            assert 0 <= float(x) <= WIDTH
            assert 0 <= float(y) <= height
        for size in ("width", "height"):
            assert float(shape.attrib.get(size, 0)) >= 0


def settled(base, **fields: object) -> ElementTree.Element:
    """The chart of a settled box."""
    question = FillQuestion.model_validate({**BOX, "rings": [{"facing": "bronze", "cones": 1}], **fields})
    return ElementTree.fromstring(bands_chart(fill_curves(question, base)).svg())


def test_bands_are_told_apart_without_colour(base) -> None:
    lines = settled(base, coldest_start_c=-20.0, sump_hot_c=100.0).findall(f"{SVG}polyline")
    dashes = [line.attrib.get("stroke-dasharray") for line in lines]
    assert len(lines) > 2
    assert dashes[::2] == dashes[1::2]
    assert len(set(dashes)) == len(lines) / 2
    assert {line.attrib["stroke"] for line in lines} == {"#000"}


def test_a_colder_place_stands_further_left_and_a_thicker_oil_higher(base) -> None:
    chart = settled(base, coldest_start_c=-20.0, sump_hot_c=100.0)
    thick = chart.findall(f"{SVG}polyline")[-1]
    points = [tuple(map(float, pair.split(","))) for pair in thick.attrib["points"].split()]
    assert points == sorted(points)
    assert [y for _, y in points] == sorted(y for _, y in points)
    window, frame = (next(it for it in chart.iter() if it.get("class") == name) for name in ("window", "frame"))
    left, width = (float(frame.attrib[name]) for name in ("x", "width"))
    assert left < float(window.attrib["x"])
    assert float(window.attrib["x"]) + float(window.attrib["width"]) < left + width
