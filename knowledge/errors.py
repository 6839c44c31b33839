"""The errors of the knowledge package, each with its data in fields."""

from typing import Literal, NamedTuple


class FillwrightError(Exception):
    """Base of every error this package raises on purpose."""


class Fault(NamedTuple):
    """One fault in a table, with its place; line and column count from 1, a column is a cell."""

    file: str
    line: int
    column: int
    message: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}: {self.message}"


class FaultyTables(FillwrightError):
    """The tables cannot be used; every fault found is listed."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = faults


class FaultyShop(FaultyTables):
    """The tables of a shop folder cannot be used."""


class UnknownRegion(FillwrightError):
    """No table tells of this region what is sold there."""

    def __init__(self, region: str, known: tuple[str, ...]) -> None:
        super().__init__(f"{region[:60]!r} is no region; there are {', '.join(known)}")


class UnknownId(NamedTuple):
    """One word of which no id of the knowledge can be made, or one grade that cannot be read."""

    pointer: str
    value: str
    known: tuple[str, ...]
    did_you_mean: str | None
    advice: str | None = None
    code: Literal["unknown_id", "ambiguous_word", "unreadable_grade"] = "unknown_id"

    @property
    def told(self) -> str:
        """What is wrong with the word, for whoever writes it in a table."""
        what = {"ambiguous_word": "may mean more than one thing", "unreadable_grade": "is no grade"}
        hint = f"did you mean {self.did_you_mean!r}?" if self.did_you_mean else self.advice
        hint = hint or f"there are {', '.join(self.known)}"
        return f"{self.value!r} {what.get(self.code, 'is not known')}; {hint}"


class UnknownIds(FillwrightError):
    """A question names ids that the knowledge does not have."""

    def __init__(self, items: tuple[UnknownId, ...]) -> None:
        super().__init__("; ".join(f"{item.pointer}: {item.value!r} is not known" for item in items))
        self.items = items


class MoreThanItHolds(FillwrightError):
    """More is drained from a box of the shop, or added to it, than the shop says it holds."""

    def __init__(self, pointer: str, holds_l: float) -> None:
        super().__init__(f"{pointer}: is above the {holds_l:g} litres that this box holds")
        self.pointer = pointer
        self.holds_l = holds_l
