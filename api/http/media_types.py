"""Media types: the type and parameters in a header, and whether a body is JSON."""

from starlette.datastructures import Headers


def media_type_and_parameters(text: str) -> tuple[str, dict[str, str]]:
    """`text/plain; charset="utf-8"` as its type and its parameters, all in lower case; the first of a name counts."""
    kind, *parts = text.lower().split(";")
    parameters: dict[str, str] = {}
    for part in parts:
        name, _, value = part.partition("=")
        parameters.setdefault(name.strip(), value.strip().strip('"'))
    return kind.strip(), parameters


def body_type(headers: Headers) -> str:
    """The media type of a request's body; empty where it is compressed or in another charset than UTF-8."""
    kind, parameters = media_type_and_parameters(headers.get("content-type", ""))
    is_plain = headers.get("content-encoding", "identity").strip().lower() in ("", "identity")
    return kind if is_plain and parameters.get("charset", "utf-8") in ("utf-8", "utf8") else ""


def is_json(kind: str) -> bool:
    """Whether a media type is JSON by any of its names."""
    return kind == "application/json" or (kind.startswith("application/") and kind.endswith("+json"))
