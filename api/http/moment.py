"""What a request takes from the moment at which it came in, read once: its tag and its answer speak of the same."""

from datetime import date

from fastapi import Request

from api.shop import Snapshot


def shop_now(request: Request) -> Snapshot:
    """The shop's tables, and what is wrong with a newer edit of them."""
    found: Snapshot = request.scope.setdefault("shop_now", request.app.state.shop.now)
    return found


def today(request: Request) -> date:
    """The day."""
    found: date = request.scope.setdefault("today", date.today())
    return found
