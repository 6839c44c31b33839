"""HTTP/1.1 as uvicorn speaks it, and one thing more: a request can see that its caller has gone."""

from starlette.types import Scope
from uvicorn.protocols.http.h11_impl import H11Protocol


class Connection(H11Protocol):
    """Marks the request when its connection is lost.

    ASGI tells it only in place of the next piece of the body, and a batch whose caller has sent far ahead is not
    asking for that.
    """

    def connection_lost(self, exc: Exception | None) -> None:
        """Called by the event loop, once."""
        super().connection_lost(exc)
        if self.cycle is not None:
            self.cycle.scope["state"]["caller_is_gone"] = True


def caller_is_gone(scope: Scope) -> bool:
    """Whether the caller is known to have gone; other servers do not say so."""
    return scope.get("state", {}).get("caller_is_gone", False)
