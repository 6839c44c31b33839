"""The loop of question, reply and question, closed by a program that knows the answers alone."""

from tests.bench.dialogues import played


def test_every_dialogue_ends_and_each_reply_leads_where_it_said_by_post_and_by_link(base, demo_shop, client) -> None:
    requests, broken = played(60, base, demo_shop, client)
    assert broken == []
    assert requests > 200


def test_words_of_callers_are_understood_in_the_jugs_at_hand_too(client) -> None:
    said = [{"label": {"family": word}} for word in ("synchro oil", "MTF", "mtf")]
    jugs = client.post("/v1/fill", json={"rings": [{"facing": "Fibre"}], "on_hand": said}).json()["jugs"]
    assert len({(jug["verdict"], jug["because"]) for jug in jugs}) == 1
