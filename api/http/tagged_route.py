"""API routes whose answers are told apart by tags that are known before they are computed."""

import hashlib
from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import Request, Response
from fastapi.routing import APIRoute

from api.http.etags import tags_known
from api.http.moment import shop_now, today
from api.http.pictures import is_picture_wanted, wants_picture

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


class TaggedRoute(APIRoute):
    """A page, made of its address, the knowledge, the shop and the day; one that was sent before is not made again.

    Equal tags mean equal bytes, so a tag holds all that the bytes depend on: the edition of program and knowledge too.
    """

    def get_route_handler(self) -> Handler:
        """The framework's handler behind the comparison of tags."""
        handle = super().get_route_handler()
        draws = any(part.call is is_picture_wanted for part in self.dependant.dependencies)

        async def handle_tagged(request: Request) -> Response:
            asked = self.asked(request) if request.method == "GET" else None
            if asked is None:
                return await handle(request)
            headers = request.headers
            as_picture = draws and wants_picture(headers.get("accept", ""))
            coding = "gzip" if "gzip" in headers.get("accept-encoding", "") else "identity"
            parts = (request.app.state.edition, self.path, request.path_params, asked, as_picture, coding)
            tag = f'"{hashlib.sha256(repr(parts).encode()).hexdigest()[:32]}"'
            if tag in tags_known(request.scope):
                return Response(status_code=304, headers={"ETag": tag, **({"Vary": "Accept"} if draws else {})})
            response = await handle(request)
            if response.status_code == 200:
                response.headers["ETag"] = tag
            return response

        return handle_tagged

    def asked(self, request: Request) -> object:
        """All that the answer depends on beside the edition and the path; None where only its bytes can tell."""
        return request.scope["query_string"], f"{shop_now(request).state}", f"{today(request)}", f"{request.base_url}"
