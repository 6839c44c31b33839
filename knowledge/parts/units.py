"""The unit of a figure, read off its name."""

from functools import lru_cache

# Longer before shorter: a viscosity ends in `_s` too.
UNIT_OF_SUFFIX = {
    "_j_kg_k": "J/(kg·K)",
    "_w_m_k": "W/(m·K)",
    "_kg_m2": "kg·m²",
    "_kg_m3": "kg/m³",
    "_j_mm2": "J/mm²",
    "_w_mm2": "W/mm²",
    "_n_mm2": "N/mm²",
    "_mpa_s": "mPa·s",
    "_mm2_s": "mm²/s",
    "_m_s": "m/s",
    "_percent": "%",
    "_years": "years",
    "_gpa": "GPa",
    "_rpm": "rpm",
    "_deg": "°",
    "_km": "km",
    "_m2": "m²",
    "_mm": "mm",
    "_um": "µm",
    "_nm": "N·m",
    "_n": "N",
    "_c": "°C",
    "_k": "K",
    "_j": "J",
    "_l": "litres",
    "_s": "s",
    "hours": "hours",
}


@lru_cache(maxsize=1_000)
def unit_of(name: str) -> str:
    """The unit that a name ends in; a bare number has the unit 1."""
    return next((unit for suffix, unit in UNIT_OF_SUFFIX.items() if name.endswith(suffix)), "1")


def in_words(name: str) -> str:
    """A name in words, without its unit: `sump_hot_c` is `sump hot`."""
    suffix = next((suffix for suffix in UNIT_OF_SUFFIX if suffix[0] == "_" and name.endswith(suffix)), "")
    return name.removesuffix(suffix).replace("_", " ")
