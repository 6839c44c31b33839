"""The drawing of the working window: every bar where its figures are, whatever the box."""

from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from api.charts.window import COLDEST_DRAWN_C, HOTTEST_DRAWN_C, window_svg
from knowledge.box.question import FillQuestion
from knowledge.fill.working_window import WorkingWindow, working_window

SVG = "{http://www.w3.org/2000/svg}"
BOX = {"yellow_metal": False, "final_drive": "none", "limited_slip": False, "wet_clutch": False, "duty": "street"}
KINDS = ("slow", "free", "short")


def drawing(window: WorkingWindow) -> ElementTree.Element:
    return ElementTree.fromstring(window_svg(window))


def percent(shape: ElementTree.Element, name: str) -> float:
    return float(shape.attrib[name].removesuffix("%"))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    cold=st.floats(-50, 50),
    hot=st.floats(20, 150),
    rings=st.sampled_from([[], [{"facing": "bronze"}], [{"facing": "carbon", "condition": "worn"}]]),
    speed=st.sampled_from([None, 1.0, 30_000.0]),
)
def test_everything_stands_on_the_paper_whatever_the_box(base, cold: float, hot: float, rings: list, speed) -> None:
    question = {**BOX, "coldest_start_c": cold, "sump_hot_c": hot, "rings": rings}
    if speed:
        question["bearing"] = {"pitch_diameter_mm": 55.0, "speed_rpm": speed}
    root = drawing(working_window(FillQuestion.model_validate(question), base))
    height = float(root.attrib["height"])
    assert root.attrib["role"] == "img"
    assert root.find(f"{SVG}title").text
    assert root.find(f"{SVG}desc").text
    for shape in root.iter():
        assert "style" not in shape.attrib
        for name in ("x", "x1", "x2"):
            if shape.attrib.get(name, "").endswith("%"):
                assert 0 <= percent(shape, name) <= 100
        if shape.attrib.get("class") in KINDS:
            assert 0 < percent(shape, "width") <= 100.1 - percent(shape, "x")
            assert float(shape.attrib["y"]) < height


def test_the_parts_of_a_bar_meet_and_end_where_its_figures_are(base) -> None:
    question = FillQuestion.model_validate(
        {**BOX, "rings": [{"facing": "bronze", "cones": 1, "condition": "worn"}], "coldest_start_c": -20}
    )
    window = working_window(question, base)
    bars = [group for group in drawing(window).iter(f"{SVG}g") if "bar" in group.attrib["class"]]
    assert len(bars) == len(window.bars) > 1

    def where(temperature_c: float) -> float:
        return 100 * (temperature_c - COLDEST_DRAWN_C) / (HOTTEST_DRAWN_C - COLDEST_DRAWN_C)

    for bar, drawn in zip(window.bars, bars, strict=True):
        parts = [shape for shape in drawn.iter(f"{SVG}rect") if shape.attrib["class"] in KINDS]
        assert [part.attrib["class"] for part in parts] == list(KINDS)
        ends = [(percent(part, "x"), percent(part, "x") + percent(part, "width")) for part in parts]
        expected = [bar.flows_from_c, bar.free_from_c.middle, bar.thick_to_c.min, bar.thick_to_c.max]
        for (start, end), low, high in zip(ends, expected, expected[1:], strict=False):
            assert abs(start - where(low)) < 0.11
            assert abs(end - where(high)) < 0.21


def test_where_a_bar_covers_the_box_is_told_without_colour(base) -> None:
    hot = FillQuestion.model_validate({**BOX, "rings": [{"facing": "paper"}], "duty": "competition", "sump_hot_c": 140})
    window = working_window(hot, base)
    assert {bar.covers for bar in window.bars} == {False}
    text = " ".join(drawing(window).itertext())
    assert "short spells over" in text
