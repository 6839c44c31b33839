"""Conditions put before what they belong to."""


def as_condition(text: str, only_if: str | None) -> str:
    """A text with what has to be so for it to bite put before it: `If the sump holds hypoid gears: they need ...`."""
    condition = (only_if or "").removeprefix("Only if ").removesuffix(".")
    if not only_if or condition == only_if.removesuffix("."):
        return f"{text} {only_if}" if only_if else text
    return f"If {condition}: {within_a_sentence(text)}"


def within_a_sentence(text: str) -> str:
    """A text within a sentence: its first letter is small unless it belongs to a name or an abbreviation."""
    return text[0].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text
