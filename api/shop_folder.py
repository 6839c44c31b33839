"""Which folder holds the shop's tables; apart from the settings of the server, so that the terminal starts fast."""

import os
from pathlib import Path

DEMO = Path(__file__).resolve().parent.parent / "demo_data"
SHOP_VARIABLE = "FILLWRIGHT_SHOP"


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
