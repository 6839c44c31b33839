"""The layers around the routes, where no route shows them."""

import asyncio

from starlette.types import Message, Receive, Scope, Send

from api.middleware import BodyPatience


def test_a_caller_who_falls_silent_while_being_answered_counts_as_gone() -> None:
    read: list[Message] = []
    first_piece: Message = {"type": "http.request", "body": b"one", "more_body": True}

    async def answering_while_it_reads(scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        read.extend([await receive(), await receive()])

    async def talk() -> None:
        sent = asyncio.Queue()
        sent.put_nowait(first_piece)
        told = asyncio.Queue()
        await BodyPatience(answering_while_it_reads, most_silence_s=0.1)({"type": "http"}, sent.get, told.put)

    asyncio.run(talk())
    assert read == [first_piece, {"type": "http.disconnect"}]
