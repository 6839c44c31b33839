"""The unit of a figure, read off its name."""

UNIT_OF_SUFFIX = {
    "_m_s": "m/s",
    "_j_mm2": "J/mm²",
    "_w_mm2": "W/mm²",
    "_n_mm2": "N/mm²",
    "_mm": "mm",
    "_um": "µm",
    "_nm": "N·m",
    "_n": "N",
    "_gpa": "GPa",
    "_rpm": "1/min",
    "_deg": "°",
    "_c": "°C",
    "_s": "s",
}


def unit_of(name: str) -> str:
    """The unit that a name ends in; a bare number has the unit 1."""
    return next((unit for suffix, unit in UNIT_OF_SUFFIX.items() if name.endswith(suffix)), "1")
