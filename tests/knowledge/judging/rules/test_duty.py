"""The hard shift of a duty, as it speaks of a class."""


def test_a_ring_too_small_to_beat_the_drag_is_told_so_and_breaks_nothing(ask, of) -> None:
    tiny = {"mean_radius_mm": 10, "half_angle_deg": 20}
    answer = ask(rings=[{"facing": "bronze", "cones": 1}], duty="street", ring_geometry=tiny)
    finding = next(
        item for item in of(answer, "mtf-75w-80").findings if item.rule == "hard-shifts-must-not-overheat-the-facing"
    )
    assert "never brings its gear to speed" in finding.text
    assert finding.effect == "cautions"
    assert finding.figures == ()
