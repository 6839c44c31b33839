"""What a header says: a media type and its parameters, read in one pass over however long a text."""


def media_type_and_parameters(text: str) -> tuple[str, dict[str, str]]:
    """`text/plain; charset="utf-8"` as its type and its parameters, all in small letters; a first one counts."""
    kind, *parts = text.lower().split(";")
    parameters: dict[str, str] = {}
    for part in parts:
        name, _, value = part.partition("=")
        parameters.setdefault(name.strip(), value.strip().strip('"'))
    return kind.strip(), parameters
