"""`python -m api stock DIR`: the fewest jugs for the boxes of a shop, in the terminal."""

import argparse
import os
from collections.abc import Sequence
from pathlib import Path

from api.rendering import rendered_lines
from api.shop import REGION_VARIABLE, shop_folder
from knowledge.assemble import read_knowledge, read_shop
from knowledge.stock.compute import compute_stock_answer
from knowledge.stock.question import StockQuestion


def stock(flags: Sequence[str]) -> int:
    """Print the plans for the boxes of a shop.

    Errors: FaultyShop, with each fault of its tables; UnknownRegion.
    """
    parser = argparse.ArgumentParser(prog="python -m api stock", description="The fewest jugs for a shop's boxes.")
    parser.add_argument("folder", type=Path, metavar="DIR", help="folder with boxes.csv, rings.csv and shelf.csv")
    parser.add_argument("--no-care", action="store_true", help="a class that fits with care serves no box")
    parser.add_argument("--no-second", action="store_true", help="nothing but the first choice serves a box")
    parser.add_argument("--json", action="store_true", help="print the answer as JSON, as the API would send it")
    parser.add_argument("--region", default=os.environ.get(REGION_VARIABLE) or None, help="where the shop is")
    given = parser.parse_args(list(flags))
    try:
        folder = shop_folder(given.folder)
    except ValueError as error:
        parser.error(str(error))
    base = read_knowledge()
    shop = read_shop(folder, base, given.region)
    question = StockQuestion(use_shop=True, allow_care=not given.no_care, allow_second=not given.no_second)
    answer = compute_stock_answer(question, base, shop)
    print(answer.model_dump_json(indent=2) if given.json else rendered_lines("stock.txt", answer=answer, base=base))
    return 0
