"""The everyday cases of everyday_fills.toml, each with what it takes from its box."""

import tomllib
from pathlib import Path
from typing import Any

TEXT = Path(__file__).with_suffix(".toml").read_text(encoding="utf-8")
NAMES: dict[str, str] = tomllib.loads(TEXT)["names"]


def _read() -> dict[str, dict[str, Any]]:
    text = TEXT
    for name, stands_for in NAMES.items():
        text = text.replace(f'"@{name}"', f'"{stands_for}"')
    tables = tomllib.loads(text)
    cases = {}
    for id, case in tables["cases"].items():
        box = tables["boxes"][case["box"]] if "box" in case else {}
        cases[id] = {"outcome": ["settled"]} | box | case | {"ask": box.get("ask", {}) | case.get("ask", {})}
    return cases


EVERYDAY = _read()
BOX_KINDS = tuple(id for id in NAMES.values() if not id.startswith("/"))
