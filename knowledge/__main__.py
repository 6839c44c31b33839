"""`python -m knowledge check`: hold every table to its model and name each fault with its place.

`python -m knowledge stamp` writes into the newest entry of CHANGES.md the digest of the tables it is for.
"""

import argparse
import sys
from pathlib import Path

from knowledge.assemble import check_changes, read_knowledge, read_shop, stamp_changes
from knowledge.errors import FaultyTables
from knowledge.loading.files import TABLES


def main() -> int:
    """Check the tables, or stamp their changes; 0 when they are sound."""
    parser = argparse.ArgumentParser(prog="python -m knowledge", description="Check the knowledge tables.")
    parser.add_argument("action", choices=["check", "stamp"])
    parser.add_argument("--tables", type=Path, default=TABLES, help="folder of tables (default: the project's own)")
    parser.add_argument("--shop", type=Path, help="folder of a shop's own tables, to be checked too")
    chosen = parser.parse_args()
    if chosen.shop and not chosen.shop.is_dir():
        parser.error(f"the shop folder {str(chosen.shop)!r} does not exist")
    try:
        base = read_knowledge(chosen.tables)
        shop = read_shop(chosen.shop, base) if chosen.shop else None
        (stamp_changes if chosen.action == "stamp" else check_changes)(base, chosen.tables)
    except FaultyTables as error:
        print(error, file=sys.stderr)
        print(f"{len(error.faults)} fault{'s' if len(error.faults) > 1 else ''}", file=sys.stderr)
        return 1
    print(f"sound: version {base.version}, {len(base.lubricants)} lubricant classes, {len(base.sources)} sources")
    print(base.digest)
    if shop:
        print(f"sound: shop with {len(shop.boxes)} boxes, {len(shop.shelf)} jugs on the shelf")
        print(shop.digest)
    return 0


if __name__ == "__main__":
    sys.exit(main())
