"""Under which names the service may be asked: a page that points a name of its own here must not read the shelf."""

import re
from collections.abc import Collection
from ipaddress import ip_address

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.http.problems import Refused, problem_response

NAME = re.compile(r"(?:\[([0-9a-fA-F:.]+)\]|([A-Za-z0-9_.-]{1,253}))(?::\d{1,5})?")


class KnownHosts:
    """Refuses a request whose `Host` is none of `hosts`.

    Where one of them stands for every address of the machine, any address may be asked: only names can be pointed
    elsewhere. A request without a `Host` comes from no browser.
    """

    def __init__(self, app: ASGIApp, hosts: Collection[str]) -> None:
        self.app = app
        self.hosts = hosts
        self.takes_addresses = any(_is(host, "unspecified") for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and not all(map(self._is_known, Headers(scope=scope).getlist("host"))):
            detail = "This service is not asked under this name. Whoever runs it can allow one with --allowed-host."
            refusal = Refused("unknown-host", detail).problem(scope)
            await problem_response(refusal)(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def _is_known(self, header: str) -> bool:
        if not (found := NAME.fullmatch(header)):
            return False
        host = (found[1] or found[2]).lower().removesuffix(".")
        return host in self.hosts or _is(host, "loopback") or (self.takes_addresses and _is(host, "address"))


def _is(host: str, what: str) -> bool:
    """Whether a host is an address, and one of this kind."""
    try:
        address = ip_address(host)
    except ValueError:
        return False
    return what == "address" or bool(getattr(address, f"is_{what}"))
