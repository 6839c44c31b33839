"""The shop's tables while the service runs: an edit is taken once it has come to rest, and only if it is sound."""

import asyncio
import logging
import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from knowledge.assemble import look_at_shop, shop_of
from knowledge.base import KnowledgeBase
from knowledge.errors import Fault, FaultyShop
from knowledge.loading.files import TableFile
from knowledge.shop.models import ShopState
from knowledge.shop.shop import Shop

DEMO = Path(__file__).resolve().parent.parent / "demo_data"
SHOP_VARIABLE = "FILLWRIGHT_SHOP"
REGION_VARIABLE = "FILLWRIGHT_REGION"
log = logging.getLogger("fillwright")

LOOK_EVERY_S = 0.5
# Longer than any program pauses while it writes a small table, short enough not to be waited for.
AT_REST_AFTER_S = 1.0


def shop_folder(named: str | Path | None) -> Path | None:
    """The folder of this name, else of the environment, else of the demo; None where there is none.

    Errors: ValueError, when the folder that is named does not exist.
    """
    folder = named or os.environ.get(SHOP_VARIABLE)
    if not folder:
        return DEMO if DEMO.is_dir() else None
    if not os.path.isdir(folder):  # Unlike `Path.is_dir`, false for a name that the system cannot take.
        raise ValueError(f"the shop folder {str(folder)!r} does not exist")
    return Path(folder)


class Snapshot(NamedTuple):
    """The shop that answers now, and the faults of an edit that could not take its place."""

    shop: Shop
    faults: tuple[Fault, ...] = ()

    @property
    def state(self) -> ShopState:
        """Which state of the tables answers, as every answer about the shop tells it."""
        return self.shop.state(self.faults)


class WatchedShop:
    """The last sound state of a shop folder.

    `now` is replaced whole and never changed, so whoever reads it once has one state from beginning to end.
    Only `look` replaces it, and one task calls that; no request waits for a file.
    """

    def __init__(
        self,
        folder: Path | None,
        base: KnowledgeBase,
        clock: Callable[[], float] = time.monotonic,
        region: str | None = None,
    ) -> None:
        """Read the folder for the first time.

        Errors: FaultyShop with every fault found; UnknownRegion.
        """
        self._region = region
        self._folder = folder
        self._base = base
        self._clock = clock
        self._seen = self._taken = look_at_shop(folder) if folder else ()
        self._seen_since = clock()
        self.now = Snapshot(shop_of(self._taken if folder else None, base, region=region))

    def look(self) -> None:
        """Look at the files once; take them when they have stood unchanged for long enough."""
        if self._folder is None:
            return
        begun = self._clock()
        files = look_at_shop(self._folder)
        if files != self._seen:
            self._seen, self._seen_since = files, self._clock()
        elif files != self._taken and begun - self._seen_since >= AT_REST_AFTER_S:
            self._taken = files
            self.now = self._snapshot(files)

    def _snapshot(self, files: tuple[TableFile, ...]) -> Snapshot:
        try:
            snapshot = Snapshot(shop_of(files, self._base, region=self._region))
        except FaultyShop as error:
            log.warning("the shop's tables were edited and cannot be used; the state before is kept:\n%s", error)
            return Snapshot(self.now.shop, error.faults)
        log.info("the shop's tables were edited and are taken: %s", snapshot.shop.digest)
        return snapshot

    async def watch(self) -> None:
        """Look again and again, beside the requests, until cancelled."""
        while True:
            await asyncio.sleep(LOOK_EVERY_S)
            try:
                await asyncio.to_thread(self.look)
            except Exception:
                log.exception("fault while looking at the shop's tables")
