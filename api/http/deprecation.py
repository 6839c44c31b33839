"""A route that is to go says so in the OpenAPI document and in the headers of each of its responses."""

from datetime import UTC, date, datetime
from email.utils import format_datetime
from typing import Any

SINCE, SUNSET = "x-deprecated-since", "x-sunset"


def deprecated(since: date, sunset: date) -> dict[str, Any]:
    """What a route is added with, `**deprecated(...)`, so that both are told; not before `sunset` does it go."""
    return {"deprecated": True, "openapi_extra": {SINCE: since.isoformat(), SUNSET: sunset.isoformat()}}


def deprecation_headers(route: Any) -> list[tuple[bytes, bytes]]:
    """`Deprecation` (RFC 9745) and `Sunset` (RFC 8594) of a route, none where it stays."""
    dates = getattr(route, "openapi_extra", None) or {}
    if SINCE not in dates:
        return []
    since, sunset = (datetime.fromisoformat(dates[name]).replace(tzinfo=UTC) for name in (SINCE, SUNSET))
    return [
        (b"deprecation", f"@{since.timestamp():.0f}".encode()),
        (b"sunset", format_datetime(sunset, usegmt=True).encode()),
        (b"link", b'</v1/changes>; rel="deprecation"'),
    ]
