"""Words of the trade are said plainly where an answer uses them."""

from knowledge.citing import words_used


def test_a_word_is_explained_where_it_is_used_and_only_there(base) -> None:
    told = ["Copper strip (ASTM D130): 2a or better.", "The ring has to wipe the film first."]
    assert [row.id for row in words_used(told, base)] == ["copper-strip", "wipe-the-film"]
    assert not [*words_used(["Nothing of the kind."], base)]


def test_each_word_occurs_in_an_answer_that_people_get(ask, box, judge, base) -> None:
    unmeasured = {"kv40_mm2_s": 60.0, "kv100_mm2_s": 9.5}
    boxes = (
        box("bronze", final_drive="hypoid"),
        box("paper", coldest_start_c=-30.0, service_data={"family": "gl-5"}),
        box("bronze", sump_hot_c=130.0, coldest_start_c=-30.0, on_hand=[unmeasured]),
    )
    texts = [
        text
        for stated in ({}, *boxes)
        for answer in (ask(**stated),)
        for text in (
            *(answer.window.on_the_data_sheet if answer.window else ()),
            *(finding.text for place in range(len(answer.candidates)) for finding in judge(**stated).findings(place)),
            *(caution.text for caution in answer.cautions),
            *(asked for jug in answer.jugs for asked in jug.ask_of_the_sheet),
        )
    ]
    assert [row.id for row in words_used(texts, base)] == list(base.words)
